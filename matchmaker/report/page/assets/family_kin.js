/* What a hen and a cock have in common, drawn: each way over which the two are kin. */
(() => {
  "use strict";

  const { el, familyDrawing } = page;
  const { data, birds, numberOf, listed, node, linkOf, scrolling, centre } = page.familyBook;
  const kin = page.data("kin");
  const UNSURE = "Dashed line: a parent that is not certain, with the chance that it is the one; "
    + "that chance is counted in.";

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
})();
