/* All that is known of a pair: its rules, kinship, terms, and what would change it. */
page.pairAnswer = (() => {
  "use strict";
  if (!page.pairBook) return null;

  const { el } = page;
  const { data, pairs, text, named, rules, capital, several } = page.pairBook;

  /** What opens the pedigree of a bird; nothing where the page has none. */
  const pedigree = (band) => page.openFamily
    && el("button", { type: "button", onclick: () => page.openFamily(band) }, `Pedigree of ${band}`);

  const verdict = (pair) => named(text(pair.rows[0].sentence), pair);
  const list_ = (sentences) => el("ul", {}, ...sentences.map((one) => el("li", {}, one)));
  const quoted = (band) => (/^[\w.+-]+$/.test(band) ? band : `"${band.replace(/(["\\$`])/g, "\\$1")}"`);
  const command = (pair) => el("code", {}, `matchmaker why ${quoted(pair.hers)} ${quoted(pair.his)}`);

  const ruleItem = (pair, rule) => el("li", {}, named(text(rule[1]), pair),
    rule[2].length ? list_(rule[2].map(text)) : null);
  const rulesPart = (pair, row) => {
    const broken = rules(row);
    return [
      several(pair, row) ? el("h4", { class: "pair-of-row" }, `In the row “${row.name}”: ${row.words}`) : null,
      row.more ? el("p", {}, `${capital(row.more)}.`) : null,
      broken.length && row.state < 2 ? el("h4", {}, "Rules it breaks") : null,
      broken.length ? el("ul", { class: "pair-rules" }, ...broken.map((rule) => ruleItem(pair, rule))) : null,
      row.state < 2 && row.cautions.length ? list_(row.cautions.map(text)) : null,
    ];
  };
  /** What it would take, as far as that is known without a search, and the command that searches. */
  const takesPart = (row) => {
    const fixed = rules(row).filter((rule) => rule[3] >= 0).map((rule) => `${text(rule[3])}.`);
    return [
      fixed.length ? list_(fixed) : null,
      row.cautions.length ? list_(row.cautions.map(text)) : null,
    ];
  };
  const SEARCHED = [
    "What the plan would be without the pair, and which pens would change",
    "Which pens would change with this pair in the plan, and what it would take for it to be chosen",
    "What would have to change for the pair to be allowed, and what that would cost or gain",
  ];
  const commandPart = (pair) => [
    el("h4", {}, pair.rows[0].state === 2 ? "What it would take" : "What would change"),
    ...(pair.rows[0].state === 2 ? pair.rows.flatMap(takesPart) : []),
    el("p", {}, `${SEARCHED[pair.rows[0].state]}, is searched for by `, command(pair), "."),
  ];
  const columnsOf = (pair) => {
    const own = pair.rows.map((row) => ({
      heading: several(pair, row) ? `in “${row.name}”` : "this pair", cells: row.cells,
    }));
    const others = pair.rows[0].beside.map((at) => data.columns[at]).filter((column) => column.length > 1);
    return [...own, ...others.map(([, heading, at, row]) => ({ heading: text(heading), cells: pairs[at].rows[row].cells }))];
  };
  const termsPart = (pair) => {
    const columns = columnsOf(pair);
    const who = pair.rows[0].beside.map((at) => named(text(data.columns[at][0]), pair));
    const joined = [...new Set(columns.map((column) => text(column.cells[0])))].sort()
      .filter((line) => Object.hasOwn(data.needs, line));
    const rows = data.terms.map((label, at) => [label, columns.map((column) => text(column.cells[at]))])
      .filter(([, cells]) => cells.some((cell) => cell !== ""));
    const table = el("table", { class: "pair-terms" },
      el("caption", {}, `What it is worth${columns.length > 1 ? ", beside the places the two have" : ""}`),
      el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "Term"),
        ...columns.map(({ heading }) => el("th", { scope: "col", class: "number" }, heading)))),
      el("tbody", {}, ...rows.map(([label, cells]) => el("tr", {},
        el("th", { scope: "row", class: label.startsWith(" ") ? "pair-part" : null }, label.trim()),
        ...cells.map((cell) => el("td", { class: "number" }, cell === "" ? "0.00" : cell))))));
    return [el("h4", {}, "What it is worth"),
      el("div", { class: "wide", tabindex: 0, role: "region", "aria-label": "What the pair is worth, term by term" }, table),
      ...pair.rows.filter((row) => row.wanted).map((row) => el("p", {},
        several(pair, row) ? `In “${row.name}”: ${row.wanted.charAt(0).toLowerCase()}${row.wanted.slice(1)}` : row.wanted)),
      who.length ? el("p", {}, `${who.join("; ")}.`) : null,
      el("p", { class: "quiet" }, [data.value, ...joined.map((line) => data.needs[line])].join(" "))];
  };
  const kinPart = (pair) => {
    const sentences = pair.kin.map((at) => named(text(at), pair));
    const [first, ...further] = sentences;
    if (!further.length) return [el("h4", {}, "What the two have in common"), el("p", {}, `${first}.`)];
    const drawing = el("div", { class: "pair-drawing" });
    if (page.drawKin) page.drawKin(drawing, pair.hers, pair.his);
    return [el("h4", {}, first), list_(further), drawing];
  };

  /** Everything below the verdict. */
  const parts = (pair) => {
    const families = [pair.hers, pair.his].map(pedigree).filter(Boolean);
    return [
      ...pair.rows.flatMap((row) => rulesPart(pair, row)),
      ...kinPart(pair),
      families.length ? el("div", { class: "pair-actions" }, ...families) : null,
      ...termsPart(pair),
      ...commandPart(pair),
    ].filter(Boolean);
  };

  return { verdict, parts, pedigree };
})();
