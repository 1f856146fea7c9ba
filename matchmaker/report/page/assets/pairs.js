/* The pairs: one hen with her cocks (or one cock with his hens), and all that is known of a pair. */
(() => {
  "use strict";
  const data = page.data("pairs");
  const byId = (id) => document.getElementById(`pair-${id}`);
  if (!data || !byId("explorer")) return;

  const { el } = page;
  const MOST = 150; // rows of the list made at once
  const STATES = ["paired", "could pair", "rejected"];
  const HEADS = ["Paired", data.could, "Rejected"];
  const KINSHIP = 1; // the place of kinship among the terms
  const [HER, HIM] = data.marks;
  const text = (at) => data.texts[at];

  /* The pairs, unpacked. Where there are several rows of matings the foremost comes first. */
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

  const named = (words, pair) =>
    words.split(HER).map((part) => part.split(HIM).join(pair.his)).join(pair.hers);
  const rules = (row) => row.broken.map((at) => data.rules[at]);
  const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);
  const kinship = (pair) => {
    const shown = text(pair.rows[0].cells[KINSHIP]);
    return shown.startsWith("<") ? 0.0005 : Number(shown);
  };

  /* What is listed. */
  const view = { side: "hen", bird: { hen: 0, cock: 0 }, shown: [], more: MOST, open: null };

  const option = (value, label) => el("option", { value }, label);
  const offer = (select, options) => select.replaceChildren(...options);
  const offerBirds = () => {
    const side = sides[view.side];
    byId("explorer").querySelector(`input[name="pair-side"][value="${view.side}"]`).checked = true;
    offer(byId("bird"), side.birds.map(([band, line], at) => option(at, `${band} (${line})`)));
    byId("bird").value = view.bird[view.side];
    byId("bird-label").textContent = side.label;
    byId("line-label").textContent = `Line of the ${side.mate}`;
  };
  const offerFilters = () => {
    const states = new Map();
    for (const pair of pairs)
      for (const row of pair.rows) for (const rule of rules(row)) states.set(rule[0], text(rule[0]));
    const named_ = [...states].sort((one, other) => one[1].localeCompare(other[1]));
    offer(byId("state"), [option("", "any"), ...STATES.map((name, at) => option(at, name))]);
    offer(byId("rule"), [option("", "any reason"), ...named_.map(([at, name]) => option(at, name))]);
    offer(byId("line"), [option("", "any line"), ...data.lines.map((name, at) => option(at, name))]);
  };

  const FIELDS = ["state", "rule", "line", "kin-from", "kin-to"];
  /** Nothing searched for, nothing left out. */
  const clear = () => {
    for (const id of ["search", ...FIELDS]) byId(id).value = "";
  };
  const words = () => byId("search").value.trim().toLowerCase().split(/\s+/).filter(Boolean);
  const number = (id) => {
    const value = byId(id).valueAsNumber;
    return Number.isNaN(value) ? null : value;
  };

  const found = (pair, looked) => {
    const bands = [pair.hers.toLowerCase(), pair.his.toLowerCase()];
    const whole = looked.join(" ");
    if (bands.some((band) => band.includes(whole))) return true;
    if (looked.length === 2)
      return [[0, 1], [1, 0]].some(([a, b]) => bands[0].includes(looked[a]) && bands[1].includes(looked[b]));
    return false;
  };
  const lineOf = (pair, side) => sides[side].birds[pair[side]][1];

  const passes = (looked) => {
    const [wanted, rule, line] = ["state", "rule", "line"].map((id) => byId(id).value);
    const [from, to] = [number("kin-from"), number("kin-to")];
    const mate = sides[view.side].mate;
    const bird = Number(view.bird[view.side]);
    return (pair) => {
      if (looked.length ? !found(pair, looked) : pair[view.side] !== bird) return false;
      if (wanted !== "" && !pair.rows.some((row) => row.state === Number(wanted))) return false;
      if (rule !== "" && !pair.rows.some((row) => rules(row).some((one) => one[0] === Number(rule)))) return false;
      if (line !== "") {
        const name = data.lines[Number(line)];
        if (looked.length ? ![lineOf(pair, "hen"), lineOf(pair, "cock")].includes(name) : lineOf(pair, mate) !== name)
          return false;
      }
      if (from !== null && kinship(pair) < from) return false;
      return to === null || kinship(pair) <= to;
    };
  };

  /* The list. */
  const several = (pair, row) => pair.rows.length > 1 && row.name;
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
  const entry = (pair, looked) => {
    const name = looked.length ? `${pair.hers} with ${pair.his}` : view.side === "hen" ? pair.his : pair.hers;
    return el("li", {},
      el("button", { type: "button", class: "pair-entry", tabindex: -1, "data-at": pair.at,
        "aria-pressed": view.open === pair ? "true" : "false" },
      el("span", { class: "pair-name" }, name), " ", ...lines(pair)));
  };

  const list = byId("list");
  const entries = () => [...list.querySelectorAll("button.pair-entry")];
  const makeReachable = (button) => {
    for (const other of list.querySelectorAll('button.pair-entry[tabindex="0"]')) other.tabIndex = -1;
    if (button) button.tabIndex = 0;
  };

  const fillList = () => {
    const looked = words();
    const parts = [];
    view.shown.slice(0, view.more).forEach((pair) => {
      const group = pair.rows[0].state;
      if (!parts.length || parts[parts.length - 1].group !== group) parts.push({ group, items: [] });
      parts[parts.length - 1].items.push(entry(pair, looked));
    });
    const count = (group) => view.shown.filter((pair) => pair.rows[0].state === group).length;
    list.replaceChildren(...parts.flatMap(({ group, items }) => [
      el("h4", {}, `${HEADS[group]} (${count(group)})`), el("ul", { class: "pair-entries" }, ...items),
    ]));
    if (view.shown.length > view.more)
      list.append(el("button", { type: "button", class: "pair-more", onclick: showMore },
        `Show ${Math.min(MOST, view.shown.length - view.more)} more of ${view.shown.length - view.more}`));
    const open = view.open && list.querySelector(`button[data-at="${view.open.at}"]`);
    makeReachable(open || list.querySelector("button.pair-entry"));
  };
  const showMore = () => {
    const at = view.more;
    view.more += MOST;
    fillList();
    focusEntry(at);
  };

  const pedigree = (band) => page.openFamily
    && el("button", { type: "button", onclick: () => page.openFamily(band) }, `Pedigree of ${band}`);
  const countWords = (looked) => {
    const all = looked.length ? pairs.length : view.side === "hen" ? data.cocks.length : data.hens.length;
    const many = view.shown.length;
    const what = looked.length ? "pairs" : view.side === "hen" ? "cocks" : "hens";
    return many === all ? `All ${all} ${what}.` : `${many} of ${all} ${what}.`;
  };
  const render = () => {
    const looked = words();
    const side = sides[view.side];
    const [band, line, note] = side.birds[Number(view.bird[view.side])];
    view.shown = pairs.filter(passes(looked));
    view.more = MOST;
    byId("list-title").textContent = looked.length ? "Pairs that match the search" : `${side.title}: ${band}`;
    byId("note").replaceChildren(...(looked.length ? [] : [`${band} (${line}): ${note}. `, pedigree(band) || ""]));
    byId("count").textContent = countWords(looked);
    const on = FIELDS.filter((id) => byId(id).value !== "").length;
    byId("filters-on").textContent = on ? ` (${on} set)` : "";
    fillList();
  };

  /* Keys in the list. */
  const focusEntry = (at, options = {}) => {
    if (Number.isFinite(at) && at >= view.more && at < view.shown.length) {
      view.more = at + 1;
      fillList();
    }
    const all = entries();
    const button = all[Math.max(0, Math.min(at, all.length - 1))];
    if (!button) return;
    makeReachable(button);
    button.focus(options);
  };
  /** Bring the entry that has the focus into sight within the list, without moving the page. */
  const showEntry = () => {
    const button = document.activeElement.closest("#pair-list button.pair-entry");
    if (!button || list.scrollHeight <= list.clientHeight) return;
    list.scrollTop += button.getBoundingClientRect().top - list.getBoundingClientRect().top - list.clientHeight / 3;
  };
  const STEPS = { ArrowDown: 1, ArrowUp: -1, PageDown: 10, PageUp: -10, Home: -Infinity, End: Infinity };
  list.addEventListener("keydown", (event) => {
    const at = entries().indexOf(event.target.closest("button.pair-entry"));
    if (at < 0 || !Object.hasOwn(STEPS, event.key) || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    const step = STEPS[event.key];
    focusEntry(step === -Infinity ? 0 : step === Infinity ? entries().length - 1 : at + step);
  });
  list.addEventListener("click", (event) => {
    const button = event.target.closest("button.pair-entry");
    if (button) open(pairs[Number(button.dataset.at)], true);
  });
  byId("explorer").addEventListener("keydown", (event) => {
    const typing = event.target.matches("input, select, textarea");
    if (event.key === "Escape" && view.open && !typing) close();
    if (event.key !== "/" || typing || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    byId("search").focus();
  });

  /* The answer. */
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

  const answer = byId("answer");
  const fillAnswer = (pair) => {
    const title = el("h3", { id: "pair-answer-title", tabindex: -1 }, verdict(pair));
    const other = view.side === "hen" ? "cock" : "hen";
    const families = [pair.hers, pair.his].map(pedigree).filter(Boolean);
    const turn = el("button", { type: "button", onclick: () => turnTo(pair, other) },
      other === "cock" ? `All hens with ${pair.his}` : `All cocks with ${pair.hers}`);
    answer.replaceChildren(
      el("div", { class: "pair-actions" },
        el("button", { type: "button", class: "pair-close", onclick: close }, "Back to the list"), turn),
      title, ...[
        ...pair.rows.flatMap((row) => rulesPart(pair, row)),
        ...kinPart(pair),
        families.length ? el("div", { class: "pair-actions" }, ...families) : null,
        ...termsPart(pair),
        ...commandPart(pair),
      ].filter(Boolean));
  };
  const turnTo = (pair, side) => {
    view.side = side;
    view.bird[side] = pair[side];
    clear();
    offerBirds();
    render();
    fillAnswer(pair);
    byId("explorer").classList.remove("pair-reading");
    focusEntry(Math.max(0, view.shown.indexOf(pair)));
  };

  const narrow = () => getComputedStyle(byId("list").closest(".pair-panes")).gridTemplateColumns.split(" ").length < 2;
  const link = (pair) => `#pair=${encodeURIComponent(pair.hers)}/${encodeURIComponent(pair.his)}`;
  const mark = () => {
    for (const button of entries())
      button.setAttribute("aria-pressed", view.open && Number(button.dataset.at) === view.open.at ? "true" : "false");
  };

  /** Open a pair; `linked` says that the address of the page has to be changed to it. */
  const open = (pair, linked) => {
    view.open = pair;
    fillAnswer(pair);
    mark();
    byId("explorer").classList.add("pair-reading");
    byId("said").textContent = verdict(pair);
    if (linked && location.hash !== link(pair)) history.pushState(null, "", link(pair));
    const button = list.querySelector(`button[data-at="${pair.at}"]`);
    if (button) makeReachable(button);
    const phone = narrow();
    if (phone) byId("answer-title").focus({ preventScroll: true });
    if (phone || answer.getBoundingClientRect().top < 0) answer.scrollIntoView({ block: "start" });
  };
  /** Beside the list the first of it lies open: nothing is said, focus and address stay as they are. */
  const openBeside = () => {
    if (narrow() || words().length || !view.shown.length) return;
    [view.open] = view.shown;
    fillAnswer(view.open);
    mark();
  };
  const nothing = () => answer.replaceChildren(
    el("h3", { id: "pair-answer-title", tabindex: -1 }, "No pair is open"),
    el("p", { class: "quiet" }, "Choose a pair in the list to read all that speaks for it and against it."));
  const shut = () => {
    view.open = null;
    nothing();
    mark();
    byId("explorer").classList.remove("pair-reading");
    byId("said").textContent = "The pair is closed.";
  };
  const close = () => {
    const at = view.shown.indexOf(view.open);
    shut();
    if (location.hash.startsWith("#pair=")) history.pushState(null, "", "#pairs");
    if (at >= 0) focusEntry(at);
    else byId("bird").focus();
  };

  /** Show a hen or a cock with all mates. */
  const showBird = (side, at) => {
    view.side = side;
    view.bird[side] = at;
    clear();
    offerBirds();
    render();
  };
  const openBird = (band) => {
    const side = ["hen", "cock"].find((one) => placeOf.has(`${one} ${band}`));
    if (!side) return false;
    shut();
    showBird(side, placeOf.get(`${side} ${band}`));
    if (location.hash.startsWith("#pair=")) history.pushState(null, "", "#pairs");
    byId("choice").scrollIntoView({ block: "start" });
    focusEntry(0, { preventScroll: true });
    openBeside();
    return true;
  };
  const openPair = (hen, cock, linked = true) => {
    const pair = pairOf(hen, cock) || pairOf(cock, hen);
    if (!pair) return false;
    if (!view.shown.includes(pair)) showBird(view.side, pair[view.side]);
    open(pair, linked);
    if (!narrow()) {
      byId("choice").scrollIntoView({ block: "start" });
      focusEntry(view.shown.indexOf(pair), { preventScroll: true });
      showEntry();
    }
    return true;
  };
  Object.assign(page, { openPair, openBird, openHen: openBird, breeders: { hens: data.hens, cocks: data.cocks, others: data.others } });

  /* Controls. */
  byId("choice").addEventListener("submit", (event) => {
    event.preventDefault();
    focusEntry(0);
  });
  byId("all").addEventListener("click", () => {
    clear();
    render();
  });
  byId("choice").addEventListener("input", (event) => {
    if (event.target.name === "pair-side") {
      if (view.open) view.bird[event.target.value] = view.open[event.target.value];
      view.side = event.target.value;
      offerBirds();
    }
    if (event.target.id === "pair-bird") {
      view.bird[view.side] = Number(event.target.value);
      byId("search").value = "";
    }
    render();
    if (event.target.id === "pair-bird" || (event.target.name === "pair-side" && !view.shown.includes(view.open))) openBeside();
  });

  const followLink = () => {
    const match = /^#pair=([^/]*)\/([^/]*)$/.exec(location.hash);
    if (!match) {
      if (view.open && ["", "#pairs"].includes(location.hash)) {
        shut();
        openBeside();
      }
      return;
    }
    let bands;
    try {
      bands = match.slice(1).map(decodeURIComponent);
    } catch {
      return;
    }
    if (!openPair(bands[0], bands[1], false)) byId("said").textContent = `No pair ${bands.join(" with ")} is in these books.`;
  };
  addEventListener("popstate", followLink);
  addEventListener("hashchange", followLink);

  const paired = pairs.find((pair) => pair.rows[0].state === 0) || pairs[0];
  if (!paired) return;
  view.bird = { hen: paired.hen, cock: paired.cock };
  for (const part of document.querySelectorAll(".pair-static")) part.hidden = true;
  byId("search-help").textContent = `Part of a band, or of two: ${paired.hers} ${paired.his}`;
  offerFilters();
  offerBirds();
  render();
  followLink();
  if (!view.open) openBeside();
})();
