/* The pedigree of any bird, with the likely way of the target allele. */
(() => {
  "use strict";

  const { el, familyDrawing } = page;
  const {
    data, birds, numberOf, SEX, text, told, chance, likely, listed, lower, origin, node, uncertain,
    linkOf, scrolling, centre,
  } = page.familyBook;
  const WAYS_TOLD = 4;

  /* -- a bird and its forebears -- */

  /** The birds drawn, by number, each with the generation in which it comes first. */
  const forebears = (root, generations) => {
    const found = new Map([[root, 0]]);
    for (const [number, depth] of found)
      if (depth < generations)
        for (const { at } of likely(birds[number])) if (!found.has(at)) found.set(at, depth + 1);
    return found;
  };

  /** The parents from whom a carrier most likely has the allele: the likeliest, and even chances. */
  const givers = (bird, locus) => {
    const handed = bird.handed[locus];
    if (!handed) return [];
    return bird.parents.map((one, at) => ({ ...one, copy: handed[at] }))
      .filter((one) => chance(one.copy) > 0)
      .sort((one, two) => chance(two.copy) - chance(one.copy))
      .filter((one, at) => at === 0 || chance(one.copy) >= 0.5);
  };

  /** The links of the likely way, and from each likely parent the birds up to where it began. */
  const wayOf = (root, locus) => {
    const links = new Map();
    const waiting = [root];
    for (const number of waiting)
      for (const parent of givers(birds[number], locus)) {
        links.set(`${parent.at}>${number}`, parent);
        if (!waiting.includes(parent.at)) waiting.push(parent.at);
      }
    const chains = givers(birds[root], locus).map((start) => {
      const chain = [start];
      for (let [on] = givers(birds[start.at], locus); on; [on] = givers(birds[on.at], locus))
        chain.push(on);
      return chain;
    });
    return { links, chains };
  };

  /** Forebears in which the ways up from sire and dam meet: in them the bird is inbred. */
  const bothSides = (root, found, chicks) => {
    const above = (side) => {
      const seen = new Set();
      const waiting = likely(birds[root]).filter((one) => one.side === side).map((one) => one.at);
      while (waiting.length) {
        const at = waiting.pop();
        if (seen.has(at) || !found.has(at)) continue;
        seen.add(at);
        if (found.get(at) < found.depth) waiting.push(...likely(birds[at]).map((one) => one.at));
      }
      return seen;
    };
    const [ofSire, ofDam] = [above("sire"), above("dam")];
    const both = (at) => ofSire.has(at) && ofDam.has(at);
    return new Set([...found.keys()].filter(
      (at) => both(at) && chicks.get(at).some((chick) => !both(chick)),
    ));
  };

  /** Sides that are one of many birds: one dashed box says so. */
  const unsure = (bird) => ["sire", "dam"]
    .filter((side) => bird.said[side] >= 0
      && bird.parents.some((one) => one.side === side)
      && !likely(bird).some((one) => one.side === side))
    .map((side) => ({
      name: side, sex: 2, row: bird.row - 1, place: bird.place, kind: "family-unsure",
      lines: [text(bird.said[side])],
    }));

  const drawing = (root, generations, locus) => {
    const found = forebears(root, generations);
    found.depth = generations;
    const nodes = new Map([...found.keys()].map((at) => [at, node(birds[at], locus)]));
    const way = locus === null ? { links: new Map(), chains: [] } : wayOf(root, locus);
    const extra = [];
    const links = [];
    const chicks = new Map([...found.keys()].map((at) => [at, []]));
    for (const [at, depth] of found) {
      if (depth >= generations) continue;
      for (const parent of likely(birds[at])) {
        chicks.get(parent.at).push(at);
        const copy = way.links.get(`${parent.at}>${at}`);
        links.push(linkOf(nodes.get(parent.at), nodes.get(at), parent, copy));
      }
      for (const one of unsure(birds[at])) {
        extra.push(one);
        links.push({ from: one, to: nodes.get(at), kind: "family-dashed", label: "" });
      }
    }
    const meeting = bothSides(root, found, chicks);
    for (const at of meeting) {
      nodes.get(at).marked = true;
      nodes.get(at).lines.push("on both sides");
    }
    nodes.get(root).kind += " family-root";
    return { nodes: [...nodes.values(), ...extra], links, found, meeting, way };
  };

  /* -- words beneath the picture -- */

  /** "through C25-009 and C24-003 from X22-004 (Araucana founder from Tofts)". */
  const chainText = (chain) => {
    const end = birds[chain[chain.length - 1].at];
    const through = chain.slice(0, -1).map((one) => birds[one.at].band);
    const whence = origin(end) ? ` (${origin(end)})` : "";
    return `${through.length ? `through ${listed(through)} ` : ""}from ${end.band}${whence}`;
  };

  const alleleSentence = (bird, locus, chains) => {
    const { name, wanted } = data.loci[locus];
    const trait = `${lower(name)}${wanted ? "" : " (to be bred out)"}`;
    const p = chance(bird.carries[locus]);
    if (p === 0) return `${bird.band} does not carry ${trait}.`;
    const carries = p === 1 ? `${bird.band} carries ${trait}`
      : `${bird.band} carries ${trait} with a chance of ${told(bird.carries[locus])}`;
    if (!chains.length) return `${carries}. It came with the founder's own parents.`;
    const begin = p === 1 ? `${carries}.` : `${carries}.${" If it does,"}`;
    const it = p === 1 ? "It" : "it";
    if (chains.length === 2 && chains.every(([first]) => chance(first.copy) === 1))
      return `${begin} ${p === 1 ? "One" : "one"} copy came most likely ${chainText(chains[0])}, the other ${chainText(chains[1])}.`;
    const ways = chains.map((chain) => `${chainText(chain)}${chains.length > 1 ? ` (${told(chain[0].copy)})` : ""}`);
    return `${begin} ${it} came most likely ${ways.join(", or ")}.`;
  };

  const inbreedingSentence = (bird, meeting) => {
    if (bird.inbreeding === "0") return `Inbreeding of ${bird.band}: 0.`;
    const names = [...meeting].map((at) => birds[at].band);
    const by = names.length
      ? `${listed(names)} ${names.length > 1 ? "stand" : "stands"} on both sides`
      : "none of the forebears drawn stands on both sides, so it comes from further back, from "
        + "parents that are not certain, or from before the records";
    return `Inbreeding of ${bird.band}: ${bird.inbreeding}; ${by}.`;
  };

  /** Ways from a bird to each forebear: "sire's dam". */
  const rolesOf = (root, generations) => {
    const roles = new Map();
    const climb = (at, way) => {
      if (way.length >= generations) return;
      for (const parent of likely(birds[at])) {
        const on = [...way, uncertain(parent) ? `possible ${parent.side}` : parent.side];
        if (!roles.has(parent.at)) roles.set(parent.at, []);
        roles.get(parent.at).push(on);
        climb(parent.at, on);
      }
    };
    climb(root, []);
    for (const ways of roles.values()) ways.sort((one, two) => one.length - two.length);
    return roles;
  };

  const roleText = (ways) => {
    const more = ways.length - WAYS_TOLD;
    const words = ways.slice(0, WAYS_TOLD).map((way) => way.join("'s ")).join(", ");
    return more > 0 ? `${words} and ${more} more` : words;
  };

  const tableOf = (root, generations) => {
    const roles = [...rolesOf(root, generations)]
      .sort((one, two) => one[1][0].length - two[1][0].length || one[0] - two[0]);
    const head = ["Forebear", "What it is", "Hatched", "Line", "Status", data.recurrent, "Inbreeding",
      ...data.loci.map((locus) => `Carries ${lower(locus.name)}`)];
    const rows = roles.map(([at, ways]) => {
      const bird = birds[at];
      return el("tr", {}, el("th", { scope: "row" }, bird.band), ...[
        `${roleText(ways)} (${SEX[bird.sex]})`, bird.year ?? "not known", bird.line, bird.status,
        bird.share, bird.inbreeding, ...bird.carries.map(told),
      ].map((words) => el("td", {}, String(words))));
    });
    return el("table", {},
      el("caption", {}, `Forebears of ${birds[root].band}, ${generations} generations back`),
      el("thead", {}, el("tr", {}, ...head.map((words) => el("th", { scope: "col" }, words)))),
      el("tbody", {}, ...rows));
  };

  /* -- the section -- */

  const byId = (id) => document.getElementById(id);
  const chosen = { bird: null };

  const draw = () => {
    const root = chosen.bird;
    const bird = birds[root];
    const generations = Number(byId("family-depth").value);
    const locus = data.loci.length ? Number(byId("family-locus").value) : null;
    const { nodes, links, found, meeting, way } = drawing(root, generations, locus);
    const sentences = [
      locus === null ? "" : alleleSentence(bird, locus, way.chains),
      inbreedingSentence(bird, meeting),
    ].filter(Boolean);
    if (locus !== null && !data.loci[locus].exact)
      sentences.push("Chances of the way are approximate: the parentage is too tangled for exact ones.");
    const count = found.size - 1;
    const words = `Pedigree of ${bird.band}: ${count} ${count === 1 ? "forebear" : "forebears"}. ${sentences.join(" ")}`;
    const picture = familyDrawing.picture(nodes, links, { years: data.years, words });
    const box = scrolling(`Pedigree of ${bird.band}`, picture);
    byId("family-picture").replaceChildren(box);
    byId("family-says").replaceChildren(...sentences.map((one) => el("p", {}, one)));
    byId("family-table").replaceChildren(scrolling(`Forebears of ${bird.band}`, tableOf(root, generations)));
    const own = nodes.find((one) => one.bird === bird);
    centre(box, own);
  };

  const unknown = (band) => {
    const asked = band.trim().toLowerCase();
    const near = asked
      ? birds.filter((bird) => bird.band.toLowerCase().includes(asked)).slice(0, 5) : [];
    const hint = near.length ? ` Did you mean ${near.map((bird) => bird.band).join(", ")}?` : "";
    return band.trim() ? `There is no bird ${band.trim()}.${hint}` : "Type a band first.";
  };

  /** The number of a bird as typed: exactly so, else whatever case it is written in. */
  const looked = (band) => {
    const asked = band.trim();
    if (numberOf.has(band)) return numberOf.get(band);
    const same = birds.filter((bird) => bird.band.toLowerCase() === asked.toLowerCase());
    return numberOf.get(asked) ?? (same.length === 1 ? same[0].number : undefined);
  };

  /** Show the pedigree of a bird; false, and words why, where there is none. */
  const show = (band) => {
    const number = looked(band);
    byId("family-note").textContent = number === undefined ? unknown(band) : "";
    if (number === undefined) return false;
    chosen.bird = number;
    byId("family-bird").value = birds[number].band;
    draw();
    return true;
  };

  page.openFamily = (band) => {
    byId("family-title").scrollIntoView();
    return show(band);
  };

  /* -- start -- */

  const begin = () => {
    const depth = byId("family-depth");
    if (!depth) return;
    if (window.innerWidth < 600) depth.value = "3";
    byId("family-bands").replaceChildren(...birds.map((bird) => el("option", { value: bird.band })));
    for (const [at, locus] of data.loci.entries())
      byId("family-locus").append(el("option", { value: at }, locus.name));
    byId("family-locus-field").hidden = data.loci.length < 2;
    byId("family-form").addEventListener("submit", (event) => {
      event.preventDefault();
      show(byId("family-bird").value);
    });
    byId("family-bird").addEventListener("change", (event) => show(event.target.value));
    for (const id of ["family-depth", "family-locus"])
      byId(id).addEventListener("change", () => chosen.bird !== null && draw());
    if (data.opening) show(data.opening);
  };
  begin();
})();
