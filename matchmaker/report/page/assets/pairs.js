/* The pairs on the page: one hen with her cocks (or one cock with his hens), one of them open. */
(() => {
  "use strict";
  if (!page.pairBook) return;

  const { el } = page;
  const { data, pairs, sides, placeOf, pairOf, text, rules, kinship, lineOf } = page.pairBook;
  const { verdict, parts, pedigree } = page.pairAnswer;
  const byId = (id) => document.getElementById(`pair-${id}`);
  const MOST = 150; // rows of the list made at once
  const STATES = ["paired", "could pair", "rejected"];
  const HEADS = ["Paired", data.could, "Rejected"];

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
  const nameOf = (pair, looked) =>
    looked.length ? `${pair.hers} with ${pair.his}` : view.side === "hen" ? pair.his : pair.hers;

  const list = byId("list");
  const entries = () => [...list.querySelectorAll("button.pair-entry")];
  const makeReachable = (button) => {
    for (const other of list.querySelectorAll('button.pair-entry[tabindex="0"]')) other.tabIndex = -1;
    if (button) button.tabIndex = 0;
  };

  const fillList = () => {
    const looked = words();
    const groups = [];
    view.shown.slice(0, view.more).forEach((pair) => {
      const group = pair.rows[0].state;
      if (!groups.length || groups[groups.length - 1].group !== group) groups.push({ group, items: [] });
      groups[groups.length - 1].items.push(page.pairEntry(pair, nameOf(pair, looked), view.open === pair));
    });
    const count = (group) => view.shown.filter((pair) => pair.rows[0].state === group).length;
    list.replaceChildren(...groups.flatMap(({ group, items }) => [
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
  const answer = byId("answer");
  const fillAnswer = (pair) => {
    const title = el("h3", { id: "pair-answer-title", tabindex: -1 }, verdict(pair));
    const other = view.side === "hen" ? "cock" : "hen";
    const turn = el("button", { type: "button", onclick: () => turnTo(pair, other) },
      other === "cock" ? `All hens with ${pair.his}` : `All cocks with ${pair.hers}`);
    answer.replaceChildren(
      el("div", { class: "pair-actions" },
        el("button", { type: "button", class: "pair-close", onclick: close }, "Back to the list"), turn),
      title, ...parts(pair));
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
  Object.assign(page, { openPair, openBird, breeders: { hens: data.hens, cocks: data.cocks, others: data.others } });

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
