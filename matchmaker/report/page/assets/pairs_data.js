/* The pairs of the page, unpacked, and how they are looked up; null where the page has none. */
page.pairBook = (() => {
  "use strict";
  const data = page.data("pairs");
  if (!data || !document.getElementById("pair-explorer")) return null;

  const [HER, HIM] = data.marks;
  const KINSHIP = 1; // the place of kinship among the terms
  const text = (at) => data.texts[at];

  /* Where there are several rows of matings the foremost comes first. */
  const unpacked = ([name, state, words, more, sentence, broken, cautions, cells, beside, wanted]) => ({
    name: name < 0 ? "" : text(name), state, words: text(words), more: more < 0 ? "" : text(more),
    sentence, broken, cautions, cells, beside, wanted: wanted < 0 ? "" : text(wanted),
  });
  const pairs = data.pairs.map(([hen, cock, rows, kin], at) => ({
    at, hen, cock, kin, rows: rows.map(unpacked),
    hers: data.hens[hen][0],
    his: data.cocks[cock][0],
  }));
  const sides = {
    hen: { birds: data.hens, own: "hen", mate: "cock", title: "Her cocks", label: "Hen" },
    cock: { birds: data.cocks, own: "cock", mate: "hen", title: "His hens", label: "Cock" },
  };
  const placeOf = new Map();
  data.hens.forEach(([band], at) => placeOf.set(`hen ${band}`, at));
  data.cocks.forEach(([band], at) => placeOf.set(`cock ${band}`, at));
  const pairAt = new Map(pairs.map((pair) => [pair.hen * data.cocks.length + pair.cock, pair]));
  const pairOf = (hen, cock) => {
    const [her, him] = [placeOf.get(`hen ${hen}`), placeOf.get(`cock ${cock}`)];
    return her === undefined || him === undefined
      ? undefined
      : pairAt.get(her * data.cocks.length + him);
  };

  /** Words with the bands of a pair in the places kept for them. */
  const named = (words, pair) =>
    words.split(HER).map((part) => part.split(HIM).join(pair.his)).join(pair.hers);
  const rules = (row) => row.broken.map((at) => data.rules[at]);
  const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);
  const kinship = (pair) => {
    const shown = text(pair.rows[0].cells[KINSHIP]);
    return shown.startsWith("<") ? 0.0005 : Number(shown);
  };
  const lineOf = (pair, side) => sides[side].birds[pair[side]][1];
  /** Whether a row of matings has to be named: where the pair stands in several. */
  const several = (pair, row) => pair.rows.length > 1 && row.name;

  return { data, pairs, sides, placeOf, pairOf, text, named, rules, capital, kinship, lineOf, several };
})();
