/* The pairs: one hen with her cocks (or one cock with his hens), and all that is known of a pair. */
(() => {
  "use strict";
  const data = page.data("pairs");
  const byId = (id) => document.getElementById(`pair-${id}`);
  if (!data || !byId("explorer")) return;

  const { el } = page;
  const MOST = 150; // rows of the list made at once
  const STATES = ["paired", "could pair", "rejected"];
  const HEADS = ["Paired", "Could pair, the cheapest first", "Rejected"];
  const KINSHIP = 1; // the place of kinship among the terms
  const [HER, HIM] = data.marks;
  const text = (at) => data.texts[at];

  /* The pairs, unpacked. Where there are several rows of matings the foremost comes first. */
  const pairs = data.pairs.map(([hen, cock, rows, kin], at) => ({
    at, hen, cock, kin: kin || [], rows,
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
  const state = (row) => row[1];
  const rules = (row) => row[4].map((at) => data.rules[at]);
  const kinship = (pair) => {
    const shown = text(pair.rows[0][6][KINSHIP]);
    return shown.startsWith("<") ? 0.0005 : Number(shown);
  };

  /* What is listed. */
  const view = { side: "hen", bird: { hen: 0, cock: 0 }, shown: [], more: MOST, open: null };

  const option = (value, label) => el("option", { value }, label);
  const offer = (select, options) => select.replaceChildren(...options);
  const offerBirds = () => {
    const side = sides[view.side];
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
      if (wanted !== "" && !pair.rows.some((row) => state(row) === Number(wanted))) return false;
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
  const told = (pair, row) => {
    const [, , head] = row;
    const reasons = rules(row).map((rule) => named(text(rule[1]), pair)).join(" ");
    const several = pair.rows.length > 1 && row[0] >= 0;
    return el("span", { class: "pair-row" },
      several ? el("span", { class: "quiet" }, `In the row “${text(row[0])}”: `) : null,
      el("span", { class: "pair-state" }, text(head)),
      reasons ? el("span", { class: "pair-reasons" }, reasons) : null);
  };
  const entry = (pair, looked) => {
    const name = looked.length ? `${pair.hers} with ${pair.his}` : view.side === "hen" ? pair.his : pair.hers;
    return el("li", {},
      el("button", { type: "button", class: "pair-entry", tabindex: -1, "data-at": pair.at,
        "aria-pressed": view.open === pair ? "true" : "false" },
      el("span", { class: "pair-name" }, name), " ", ...pair.rows.map((row) => told(pair, row))));
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
      const group = state(pair.rows[0]);
      if (!parts.length || parts[parts.length - 1].group !== group) parts.push({ group, items: [] });
      parts[parts.length - 1].items.push(entry(pair, looked));
    });
    const count = (group) => view.shown.filter((pair) => state(pair.rows[0]) === group).length;
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
    byId("note").textContent = looked.length ? "" : `${band} (${line}): ${note}.`;
    byId("count").textContent = countWords(looked);
    fillList();
  };

  /* Keys in the list. */
  const focusEntry = (at) => {
    const all = entries();
    const button = all[Math.max(0, Math.min(at, all.length - 1))];
    if (!button) return;
    makeReachable(button);
    button.focus();
  };
  const STEPS = { ArrowDown: 1, ArrowUp: -1, PageDown: 10, PageUp: -10, Home: -Infinity, End: Infinity };
  list.addEventListener("keydown", (event) => {
    const at = entries().indexOf(event.target.closest("button.pair-entry"));
    if (at < 0 || !(event.key in STEPS) || event.ctrlKey || event.metaKey || event.altKey) return;
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
  const list_ = (sentences) => el("ul", {}, ...sentences.map((one) => el("li", {}, one)));
  const quoted = (band) => (/^[\w.+-]+$/.test(band) ? band : `"${band.replace(/(["\\$`])/g, "\\$1")}"`);
  const command = (pair) => el("code", {}, `matchmaker why ${quoted(pair.hers)} ${quoted(pair.his)}`);

  const ruleItem = (pair, rule) => el("li", {}, named(text(rule[1]), pair),
    rule[2].length ? list_(rule[2].map(text)) : null);
  const rulesPart = (pair, row) => {
    const broken = rules(row);
    if (!broken.length) return [];
    return [el("h4", {}, state(row) === 2 ? "Why not" : "Rules it breaks"),
      el("ul", { class: "pair-rules" }, ...broken.map((rule) => ruleItem(pair, rule)))];
  };
  const takesPart = (pair, row) => {
    if (state(row) !== 2) {
      const cautions = row[5].map(text);
      return cautions.length ? [list_(cautions)] : [];
    }
    const fixed = rules(row).filter((rule) => rule[3] >= 0).map((rule) => `${text(rule[3])}.`);
    const cautions = row[5].map((at) => named(text(at), pair));
    return [el("h4", {}, "What it would take"), fixed.length ? list_(fixed) : null,
      el("p", {}, fixed.length
        ? "What a written wish for the pair would do, and cost, is searched for by "
        : "The changes that would allow it, and what each would cost, are searched for by ", command(pair), "."),
      cautions.length ? list_(cautions) : null];
  };
  const costPart = (pair, row) => {
    if (state(row) === 2) return [];
    return [el("p", {}, state(row) === 0
      ? "What the plan would be without the pair, and what would change, is searched for by "
      : "The pens with this pair in the plan, and what it would take for it to be chosen, are searched for by ",
    command(pair), ".")];
  };
  const columnsOf = (pair, row) => [
    { heading: "this pair", cells: row[6], who: "" },
    ...row[7].map((at) => data.columns[at]).filter((column) => column.length > 1).map(([words_, heading, at, place]) => ({
      heading: text(heading), who: text(words_), cells: pairs[at].rows[place][6],
    })),
  ];
  const termsPart = (pair, row) => {
    const columns = columnsOf(pair, row);
    const who = row[7].map((at) => named(text(data.columns[at][0]), pair));
    const lines = [...new Set(columns.map((column) => text(column.cells[0])))].sort()
      .filter((line) => line in data.needs);
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
      who.length ? el("p", {}, `${who.join("; ")}.`) : null,
      el("p", { class: "quiet" }, data.value),
      ...lines.map((line) => el("p", { class: "quiet" }, data.needs[line]))];
  };
  const kinPart = (pair) => {
    const sentences = pair.kin.map((at) => named(text(at), pair));
    const drawing = el("div", { class: "pair-drawing" });
    if (page.drawKin) page.drawKin(drawing, pair.hers, pair.his);
    return [sentences.length ? el("h4", {}, sentences[0]) : null,
      sentences.length > 1 ? list_(sentences.slice(1)) : null, drawing];
  };

  const rowPart = (pair, row) => {
    const several = pair.rows.length > 1 && row[0] >= 0;
    return [several ? el("h4", { class: "pair-of-row" }, `In the row “${text(row[0])}”`) : null,
      el("p", { class: "pair-state" }, `${text(row[2])}.`),
      ...rulesPart(pair, row), ...takesPart(pair, row), ...costPart(pair, row), ...termsPart(pair, row)];
  };

  const answer = byId("answer");
  const fillAnswer = (pair) => {
    const title = el("h3", { id: "pair-answer-title", tabindex: -1 }, named(text(pair.rows[0][3]), pair));
    const other = view.side === "hen" ? "cock" : "hen";
    const turn = el("button", { type: "button", onclick: () => turnTo(pair, other) },
      other === "cock" ? `All hens with ${pair.his}` : `All cocks with ${pair.hers}`);
    answer.replaceChildren(
      el("div", { class: "pair-actions" },
        el("button", { type: "button", class: "pair-close", onclick: close }, "Back to the list"), turn),
      title, ...pair.rows.flatMap((row) => rowPart(pair, row)).filter(Boolean), ...kinPart(pair).filter(Boolean));
  };
  const turnTo = (pair, side) => {
    view.side = side;
    view.bird[side] = pair[side];
    byId("search").value = "";
    byId("explorer").querySelector(`input[value="${side}"]`).checked = true;
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
    byId("said").textContent = named(text(pair.rows[0][3]), pair);
    if (linked && location.hash !== link(pair)) history.pushState(null, "", link(pair));
    const button = list.querySelector(`button[data-at="${pair.at}"]`);
    if (button) makeReachable(button);
    if (narrow()) {
      byId("answer-title").focus({ preventScroll: true });
      answer.scrollIntoView({ block: "start" });
    }
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
    byId("choice").reset();
    byId("explorer").querySelector(`input[value="${side}"]`).checked = true;
    offerBirds();
    render();
  };
  const openBird = (band) => {
    const side = ["hen", "cock"].find((one) => placeOf.has(`${one} ${band}`));
    if (!side) return false;
    shut();
    showBird(side, placeOf.get(`${side} ${band}`));
    document.getElementById("pairs").scrollIntoView({ block: "start" });
    focusEntry(0);
    return true;
  };
  const openPair = (hen, cock, linked = true) => {
    const pair = pairOf(hen, cock) || pairOf(cock, hen);
    if (!pair) return false;
    if (!view.shown.includes(pair)) showBird(view.side, pair[view.side]);
    open(pair, linked);
    if (!narrow()) {
      document.getElementById("pairs").scrollIntoView({ block: "start" });
      focusEntry(view.shown.indexOf(pair));
    }
    return true;
  };
  Object.assign(page, { openPair, openBird, openHen: openBird, breeders: { hens: data.hens, cocks: data.cocks, others: data.others } });

  /* Controls. */
  byId("choice").addEventListener("submit", (event) => {
    event.preventDefault();
    focusEntry(0);
  });
  byId("choice").addEventListener("reset", () => setTimeout(() => {
    byId("explorer").querySelector(`input[value="${view.side}"]`).checked = true;
    offerBirds();
    render();
  }));
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
  });

  const followLink = () => {
    const match = /^#pair=([^/]*)\/([^/]*)$/.exec(location.hash);
    if (!match) {
      if (view.open && ["", "#pairs"].includes(location.hash)) shut();
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

  const paired = pairs.find((pair) => state(pair.rows[0]) === 0) || pairs[0];
  if (!paired) return;
  view.bird = { hen: paired.hen, cock: paired.cock };
  for (const part of document.querySelectorAll(".pair-static")) part.hidden = true;
  offerFilters();
  offerBirds();
  render();
  followLink();
})();
