/* The box in the header: a band, and what to do with it. */
(() => {
  "use strict";
  const form = document.querySelector("form.find");
  const input = document.getElementById("find-bird");
  if (!form || !input) return;
  const said = form.querySelector("output");
  const { hens = [], cocks = [], others = [] } = page.breeders || {};

  /* Band → what is said beside it. Breeders open among the pairs, all others as a family. */
  const known = new Map();
  const put = (sex) => ([band, line, note]) => {
    const so = note.startsWith(`${band} `) ? note.slice(band.length + 1) : note;
    known.set(band, `${sex}, ${line}; ${so}`);
  };
  hens.forEach(put("hen"));
  cocks.forEach(put("cock"));
  for (const [band, what] of others) if (!known.has(band)) known.set(band, what);

  const suggestions = document.getElementById("all-birds");
  if (suggestions)
    suggestions.replaceChildren(...[...known].map(([band, what]) => page.el("option", { value: band, label: `${band}: ${what}` })));

  /** Letters to change, add, leave out or swap to come from one band to another. */
  const distance = (one, other) => {
    let [before, now] = [null, Array.from({ length: other.length + 1 }, (_, at) => at)];
    for (let at = 1; at <= one.length; at += 1) {
      const next = [at];
      for (let to = 1; to <= other.length; to += 1) {
        const change = now[to - 1] + (one[at - 1] === other[to - 1] ? 0 : 1);
        next[to] = Math.min(change, now[to] + 1, next[to - 1] + 1);
        if (before && to > 1 && one[at - 1] === other[to - 2] && one[at - 2] === other[to - 1])
          next[to] = Math.min(next[to], before[to - 2] + 1);
      }
      [before, now] = [now, next];
    }
    return now[other.length];
  };
  const near = (name) => {
    const asked = name.toLowerCase();
    const ranked = [...known.keys()].map((band) => {
      const own = band.toLowerCase();
      const part = own.includes(asked) || (own.length > 1 && asked.includes(own));
      return [Math.min(part ? 0.5 : 1, distance(asked, own) / Math.max(asked.length, own.length, 1)), band];
    });
    return ranked.filter(([far]) => far <= 0.5).sort((one, other) => one[0] - other[0]).slice(0, 3).map(([, band]) => band);
  };

  const bandOf = (typed) => {
    if (known.has(typed)) return typed;
    const alike = [...known.keys()].filter((band) => band.toLowerCase() === typed.toLowerCase());
    return alike.length === 1 ? alike[0] : null;
  };
  const show = (band) => {
    said.textContent = `${band}: ${known.get(band)}.`;
    if (page.openBird && page.openBird(band)) return;
    if (page.openFamily) page.openFamily(band);
  };
  const goTo = (event) => {
    event.preventDefault();
    const typed = input.value.trim();
    if (!typed) {
      said.textContent = "Type a band.";
      return;
    }
    const band = bandOf(typed);
    if (band !== null) {
      show(band);
      return;
    }
    const close = near(typed);
    said.replaceChildren(`No bird ${typed}.`, ...(close.length ? [" Did you mean "] : []),
      ...close.flatMap((one, at) => [at ? " or " : "",
        page.el("button", { type: "button", onclick: () => { input.value = one; show(one); } }, one)]),
      close.length ? "?" : " The tables have no band like it.");
  };
  form.addEventListener("submit", goTo);
})();
