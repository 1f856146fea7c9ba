/* What the list of pairs says of each: its state, and what speaks against it. */
page.pairEntry = (() => {
  "use strict";
  if (!page.pairBook) return null;

  const { el } = page;
  const { text, named, rules, capital } = page.pairBook;

  /** What a rule found, without the state that stands before it already. */
  const stateless = (rule) => {
    const [state, heading] = [`${capital(text(rule[0]))}: `, text(rule[1])];
    return heading.startsWith(state) ? capital(heading.slice(state.length)) : heading;
  };
  /** What the list says of a row of matings: its state, then what speaks against the pair. */
  const said = (pair, row) => {
    const broken = rules(row);
    const states = [...new Set(broken.map((rule) => text(rule[0])))].join("; ");
    const more = row.state === 2 ? states : row.more;
    return [
      more ? `${row.words}: ${more}` : row.words,
      broken.map((rule) => named(stateless(rule), pair)).join(" "),
    ];
  };
  const rowNames = (names) =>
    `In the row${names.length > 1 ? "s" : ""} ${names.map((name) => `“${name}”`).join(" and ")}: `;
  /** One line for each thing that is said, with the rows of matings that it is said of. */
  const lines = (pair) => {
    const found = new Map();
    for (const row of pair.rows) {
      const [state, reasons] = said(pair, row);
      const key = `${state}\n${reasons}`;
      if (!found.has(key)) found.set(key, { state, reasons, names: [] });
      found.get(key).names.push(row.name);
    }
    return [...found.values()].map(({ state, reasons, names }) => el("span", { class: "pair-row" },
      names.every(Boolean) && pair.rows.length > 1 ? el("span", { class: "quiet" }, rowNames(names)) : null,
      el("span", { class: "pair-state" }, state),
      reasons ? el("span", { class: "pair-reasons" }, reasons) : null));
  };
  /** The entry of a pair under a name, pressed where it is the one that lies open. */
  const entry = (pair, name, pressed) => el("li", {},
    el("button", { type: "button", class: "pair-entry", tabindex: -1, "data-at": pair.at,
      "aria-pressed": pressed ? "true" : "false" },
    el("span", { class: "pair-name" }, name), " ", ...lines(pair)));

  return entry;
})();
