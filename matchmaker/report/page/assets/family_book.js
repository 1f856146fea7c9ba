/* The birds of the pedigrees, unpacked, with what is said of each and how they are linked. */
page.familyBook = (() => {
  "use strict";

  const { el } = page;
  const data = page.data("birds");
  const LIKELY = 0.2;
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

  /** A link from a parent to a chick, with the chances that are not certain. */
  const linkOf = (from, to, parent, copy) => {
    const words = [
      uncertain(parent) ? `${copy ? "parent " : ""}${told(parent.p)}` : "",
      copy ? `copy ${told(copy.copy)}` : "",
    ].filter(Boolean);
    const kinds = [uncertain(parent) ? "family-dashed" : "", copy ? "family-way" : ""];
    return { from, to, kind: kinds.join(" ").trim(), rank: copy ? 1 : 0, label: words.join(", ") };
  };

  /** A box for what may be wider than the screen. */
  const scrolling = (label, ...children) =>
    el("div", { class: "wide family-wide", tabindex: 0, role: "region", "aria-label": label }, ...children);

  /** Scroll a picture that is wider than its box so that one bird stands in the middle. */
  const centre = (box, one) => {
    const edge = Number(box.querySelector("svg").getAttribute("viewBox").split(" ")[0]);
    box.scrollLeft = one.x - edge - box.clientWidth / 2;
  };

  return {
    data, birds, numberOf, SEX, text, told, chance, likely, listed, lower, origin, node, uncertain,
    linkOf, scrolling, centre,
  };
})();
