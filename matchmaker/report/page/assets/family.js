/* Pedigrees: of any bird with the likely way of the target allele, and of what a pair shares. */
(() => {
  "use strict";

  const { el, familyDrawing } = page;
  const data = page.data("birds");
  const kin = page.data("kin");
  const LIKELY = 0.2;
  const WAYS_TOLD = 4;
  const UNSURE = "Dashed line: a parent that is not certain, with the chance that it is the one; "
    + "that chance is counted in.";
  const SEX = ["cock", "hen", "sex not known"];
  const text = (number) => data.texts[number];
  const told = (number) => data.chances[number][1];
  const chance = (number) => data.chances[number][0];

  const birds = data.birds.map(([
    band, sex, year, line, status, row, place, sires, dams, ofSire, ofDam, inbreeding, share,
    carries, handed,
  ], number) => ({
    number, band, sex, year, line: text(line), status: text(status), row, place,
    parents: [
      ...sires.map(([at, p]) => ({ at, p, side: "sire" })),
      ...dams.map(([at, p]) => ({ at, p, side: "dam" })),
    ],
    said: { sire: ofSire, dam: ofDam },
    inbreeding: text(inbreeding), share: text(share), carries, handed,
  }));
  const numberOf = new Map(birds.map((bird) => [bird.band, bird.number]));
  const likely = (bird) => bird.parents.filter((one) => chance(one.p) >= LIKELY);
  const listed = (names) => names.length > 1
    ? `${names.slice(0, -1).join(", ")} and ${names[names.length - 1]}` : names.join("");
  const lower = (name) => name.charAt(0).toLowerCase() + name.slice(1);

  /* -- what is said of one bird -- */

  /** What is written of parents that are no birds of the books: "founder (Sussex from Moorside)". */
  const origin = (bird) => {
    const none = ["sire", "dam"].filter((side) => !bird.parents.some((one) => one.side === side));
    const words = none.map((side) => text(bird.said[side]));
    if (!none.length) return "";
    if (none.length === 2 && words[0] === words[1]) return words[0];
    return none.map((side, at) => `${side}: ${words[at]}`).join(", ");
  };

  const carrying = (bird, locus) => {
    const p = chance(bird.carries[locus]);
    if (p === 1) return "● carries";
    return p === 0 ? "○ does not carry" : `◐ carries: ${told(bird.carries[locus])}`;
  };

  const node = (bird, locus) => ({
    bird, name: bird.band, sex: bird.sex, row: bird.row, place: bird.place,
    kind: locus !== null && chance(bird.carries[locus]) > 0 ? "family-carrier" : "",
    lines: [
      [SEX[bird.sex], bird.year ?? "year not known", bird.line].join(", "),
      origin(bird),
      locus === null ? "" : carrying(bird, locus),
    ].filter(Boolean),
  });

  const uncertain = (parent) => chance(parent.p) < 1;

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

  const linkOf = (from, to, parent, copy) => {
    const words = [
      uncertain(parent) ? `${copy ? "parent " : ""}${told(parent.p)}` : "",
      copy ? `copy ${told(copy.copy)}` : "",
    ].filter(Boolean);
    const kinds = [uncertain(parent) ? "family-dashed" : "", copy ? "family-way" : ""];
    return { from, to, kind: kinds.join(" ").trim(), rank: copy ? 1 : 0, label: words.join(", ") };
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

  const scrolling = (label, ...children) =>
    el("div", { class: "wide family-wide", tabindex: 0, role: "region", "aria-label": label }, ...children);

  /** Scroll a picture that is wider than its box so that one bird stands in the middle. */
  const centre = (box, one) => {
    const edge = Number(box.querySelector("svg").getAttribute("viewBox").split(" ")[0]);
    box.scrollLeft = one.x - edge - box.clientWidth / 2;
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

  /* -- what a pair has in common -- */

  const wayFrom = (number) => {
    const way = [];
    for (let at = number; at; at = kin.ways[2 * at - 1]) way.push(kin.ways[2 * at - 2]);
    return way;
  };

  /** The paths of a pair, each with both ways and its part; null if the two are no pair. */
  const pathsOf = (hen, cock) => {
    const row = kin.hens.indexOf(hen);
    const column = kin.cocks.indexOf(cock);
    if (row < 0 || column < 0) return null;
    const [before, others, ...parts] = kin.lists[kin.pairs[row][column]];
    const paths = [];
    for (let at = 0; at < parts.length; at += 3)
      paths.push({
        first: [hen, ...wayFrom(parts[at])],
        second: [cock, ...wayFrom(parts[at + 1])],
        part: kin.texts[parts[at + 2]],
      });
    return {
      paths, before: kin.texts[before], others: kin.texts[others],
      kinship: kin.texts[kin.kinship[row][column]],
    };
  };

  const kinPicture = (hen, cock, found, words) => {
    const nodes = new Map();
    const links = new Map();
    const add = (at) => {
      if (!nodes.has(at)) nodes.set(at, node(birds[at], null));
      return nodes.get(at);
    };
    add(hen);
    add(cock);
    for (const { first, second } of found.paths) {
      for (const way of [first, second])
        for (let at = 1; at < way.length; at += 1) {
          const parent = birds[way[at - 1]].parents.find((one) => one.at === way[at]);
          links.set(`${way[at]}>${way[at - 1]}`, linkOf(add(way[at]), add(way[at - 1]), parent));
        }
      add(first[first.length - 1]).marked = true;
    }
    for (const one of nodes.values()) if (one.marked) one.lines.push("common forebear");
    const below = Math.max(...[...nodes.values()].map((one) => one.row)) + 1;
    const place = (birds[hen].place + birds[cock].place) / 2;
    const chicks = {
      name: "their chicks", sex: 2, row: below, place, kind: "family-chicks",
      lines: [`inbreeding ${found.kinship}`],
    };
    for (const at of [hen, cock]) nodes.get(at).kind += " family-root";
    const picture = familyDrawing.picture([...nodes.values(), chicks], [
      ...links.values(),
      ...[hen, cock].map((at) => ({ from: nodes.get(at), to: chicks, kind: "family-joined" })),
    ], { years: data.years, words });
    const unsureOnes = [...links.values()].some((link) => link.kind.includes("family-dashed"));
    return { picture, chicks, unsureOnes };
  };

  /** One path from the hen up and down to the cock; arrows lead from parent to chick. */
  const pathItem = ({ first, second, part }) => {
    const up = first.slice(0, -1).map((at) => `${birds[at].band} ← `).join("");
    const down = second.slice(0, -1).reverse().map((at) => ` → ${birds[at].band}`).join("");
    return el("li", {}, el("b", {}, part), ": ", up, el("b", {}, birds[first[first.length - 1]].band), down);
  };

  const rests = (found) => [
    found.others === "0" ? "" : `${found.others} over other ways, each with less`,
    found.before === "0" ? "" : `${found.before} from before the records (${kin.taken})`,
  ].filter(Boolean);

  /** Draw what hen and cock have in common into a container; both by band. */
  page.drawKin = (container, hen, cock) => {
    const [one, two] = [numberOf.get(hen), numberOf.get(cock)];
    const found = pathsOf(one, two);
    if (!found) {
      container.replaceChildren(el("p", {}, `${hen} and ${cock} are no pair of this season.`));
      return;
    }
    const head = `Kinship ${found.kinship}`;
    const rest = rests(found).map((words) => el("li", {}, words));
    if (!found.paths.length) {
      container.replaceChildren(el("figure", { class: "family-kin" },
        el("p", {}, `${head}: ${hen} and ${cock} have no common forebear on record.`),
        rest.length ? el("ul", {}, ...rest) : null));
      return;
    }
    const ends = [...new Set(found.paths.map((path) => path.first[path.first.length - 1]))];
    const words = `What ${hen} (hen) and ${cock} (cock) have in common: kinship ${found.kinship} through ${
      listed(ends.map((at) => birds[at].band))}.`;
    const { picture, chicks, unsureOnes } = kinPicture(one, two, found, words);
    const box = scrolling(words, picture);
    container.replaceChildren(el("figure", { class: "family-kin" }, box,
      el("figcaption", {}, el("p", {}, `${head}. Each way over which ${hen} and ${cock} are kin, and `
        + "its part of it; arrows lead from parent to chick:"),
      el("ul", {}, ...found.paths.map(pathItem), ...rest),
      unsureOnes ? el("p", {}, UNSURE) : null)));
    centre(box, chicks);
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
