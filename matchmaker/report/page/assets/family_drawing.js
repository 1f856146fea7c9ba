/* A pedigree as a picture: birds as boxes, links between them, the years of the rows beside. */
page.familyDrawing = (() => {
  "use strict";

  const { svg } = page;
  const FONT = 14;
  const SMALL = 12.5;
  const LINE = 17;
  const PAD = 10;
  const WIDEST = 22;
  const PORT = 26;
  const DROP = 18;
  const pen = document.createElement("canvas").getContext("2d");
  const face = getComputedStyle(document.body).fontFamily;

  const wide = (text, size, weight) => {
    pen.font = `${weight} ${size}px ${face}`;
    return pen.measureText(text).width;
  };

  /** A text in lines of at most so many letters, broken at blanks where there are any. */
  const broken = (text, most) => {
    const lines = [];
    let line = "";
    for (const word of text.split(/(?<=[ ,])/u)) {
      if (line && [...line, ...word.trimEnd()].length > most) { lines.push(line.trim()); line = ""; }
      line += word;
      while ([...line].length > most) {
        const letters = [...line];
        lines.push(letters.slice(0, most).join(""));
        line = letters.slice(most).join("");
      }
    }
    return [...lines, line.trim()].filter(Boolean);
  };

  /** A box with its size: the band in bold and some lines of what is to say. */
  const boxed = (node) => {
    const head = broken(node.name, WIDEST).map((text) => ({ text, size: FONT, weight: 700 }));
    const rest = node.lines.flatMap((text) => broken(text, WIDEST + 3))
      .map((text) => ({ text, size: SMALL, weight: 400 }));
    const lines = [...head, ...rest];
    const widths = lines.map(({ text, size, weight }) => wide(text, size, weight));
    return Object.assign(node, {
      text: lines,
      width: Math.max(72, ...widths) + 2 * PAD + (node.sex === 1 ? 8 : 0),
      height: lines.length * LINE + 2 * PAD - 4,
    });
  };

  const box = (node) => {
    const round = { 0: 0, 1: Math.min(22, node.height / 2), 2: 6 }[node.sex] ?? 4;
    const frame = (grow, name) => svg("rect", {
      class: name, x: node.x - node.width / 2 - grow, y: node.y - node.height / 2 - grow,
      width: node.width + 2 * grow, height: node.height + 2 * grow, rx: round ? round + grow : 0,
    });
    const top = node.y - node.height / 2 + PAD + 11;
    return svg("g", { class: `family-bird ${node.kind ?? ""}` },
      node.marked ? frame(4, "family-ring") : null,
      frame(0, "family-box"),
      ...node.text.map(({ text, size, weight }, at) => svg("text", {
        x: node.x, y: top + at * LINE, "text-anchor": "middle", "font-size": size,
        "font-weight": weight, class: weight > 400 ? "family-band" : "family-small",
      }, text)));
  };

  /** Room above a bird for what is written on the links that come down to it. */
  const roomy = (links) => {
    const needed = new Map();
    for (const link of links) {
      link.room = link.label ? wide(link.label, SMALL, 400) + 16 : PORT;
      needed.set(link.to, (needed.get(link.to) ?? 0) + link.room);
    }
    for (const [node, room] of needed)
      node.width = Math.max(node.width, room + (node.sex === 0 ? 0 : 24));
  };

  /** Links that come down to one bird end side by side, in the order in which they come. */
  const ported = (links) => {
    const coming = new Map();
    for (const link of links) {
      if (!coming.has(link.to)) coming.set(link.to, []);
      coming.get(link.to).push(link);
    }
    for (const [node, some] of coming) {
      const before = (link) => link.points[link.points.length - 2].x;
      some.sort((one, two) => before(one) - before(two));
      let at = node.x - some.reduce((sum, link) => sum + link.room, 0) / 2;
      for (const link of some) {
        link.end = link.label ? at + 4 : at + link.room / 2;
        at += link.room;
      }
    }
  };

  /** A link as a line that leaves and meets each row upright. */
  const line = (link) => {
    const points = link.points;
    const last = points[points.length - 1];
    let from = [points[0].x, points[0].y + points[0].height / 2];
    let path = `M${from.map(rounded).join(" ")}`;
    for (const node of points.slice(1)) {
      const x = node === last ? link.end : node.x;
      const leave = points[0].y + points[0].high / 2;
      if (from[1] < leave) { path += `V${rounded(leave)}`; from = [from[0], leave]; }
      const to = [x, node.y - node.high / 2 - (node === last ? DROP : 0)];
      const half = (from[1] + to[1]) / 2;
      path += `C${[from[0], half, x, half, ...to].map(rounded).join(" ")}`;
      const end = node === last ? node.y - node.height / 2 : node.y + node.high / 2;
      if (end > to[1]) path += `V${rounded(end)}`;
      from = [x, Math.max(end, to[1])];
    }
    return svg("path", { d: path, class: `family-link ${link.kind ?? ""}` });
  };

  const rounded = (value) => Math.round(value * 10) / 10;

  /** What is written on a link, close above the younger bird. */
  const label = (link) => link.label
    ? svg("text", {
      class: "family-label", "font-size": SMALL,
      x: link.end + 5, y: link.to.y - link.to.high / 2 - 9,
    }, link.label)
    : null;

  /** The picture of nodes and links, with a description in words. */
  const picture = (nodes, links, { years, words }) => {
    nodes.forEach(boxed);
    roomy(links);
    const { rows, width, height } = page.familyLayout(nodes, links);
    ported(links);
    const margin = 8;
    const side = years ? 56 : margin;
    const sheet = svg("svg", {
      role: "img", "aria-label": words, class: "family-picture",
      width: Math.ceil(width + side + margin), height: Math.ceil(height + 2 * margin),
      viewBox: `${-side} ${-margin} ${Math.ceil(width + side + margin)} ${Math.ceil(height + 2 * margin)}`,
    });
    const ordered = [...links].sort((one, two) => (one.rank ?? 0) - (two.rank ?? 0));
    sheet.append(...ordered.map(line), ...links.map(label).filter(Boolean), ...nodes.map(box));
    if (years)
      for (const row of rows) {
        const own = row.find((node) => node.bird && node.bird.year === years[node.row]);
        const year = own ? own.bird.year : null;
        if (year)
          sheet.append(svg("text", { class: "family-year", x: -side + 4, y: own.y + 4, "font-size": SMALL }, String(year)));
      }
    return sheet;
  };

  return { picture };
})();
