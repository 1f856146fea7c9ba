/* Where the birds of a small pedigree stand: rows from the drawing of all, few crossings, no gaps. */
page.familyLayout = (() => {
  "use strict";

  const GAP = 22;
  const BEND = 14;
  const BETWEEN = 70;

  /** Rows without those nobody stands in; a link through a row has a bend in it. */
  const rowsOf = (nodes, links) => {
    const used = [...new Set(nodes.map((node) => node.row))].sort((a, b) => a - b);
    const level = new Map(used.map((row, at) => [row, at]));
    const rows = used.map(() => []);
    for (const node of nodes) {
      node.level = level.get(node.row);
      node.near = { up: [], down: [] };
      rows[node.level].push(node);
    }
    for (const row of rows) {
      row.sort((one, two) => one.place - two.place);
      row.forEach((node, at) => { node.start = (at + 0.5) / row.length; });
    }
    for (const link of links) {
      link.points = [link.from];
      const steps = link.to.level - link.from.level;
      for (let at = 1; at < steps; at += 1) {
        const part = at / steps;
        const bend = {
          bend: true, width: BEND, height: 0, level: link.from.level + at,
          near: { up: [], down: [] },
          start: link.from.start * (1 - part) + link.to.start * part,
        };
        rows[bend.level].push(bend);
        link.points.push(bend);
      }
      link.points.push(link.to);
      for (let at = 1; at < link.points.length; at += 1) {
        link.points[at - 1].near.down.push(link.points[at]);
        link.points[at].near.up.push(link.points[at - 1]);
      }
    }
    for (const row of rows) row.sort((one, two) => one.start - two.start);
    return rows;
  };

  const number = (rows) => rows.forEach((row) => row.forEach((node, at) => { node.at = at; }));

  /** Crossings between two nodes of a row if the one stands left of the other. */
  const between = (left, right) => {
    let found = 0;
    for (const side of ["up", "down"])
      for (const one of left.near[side])
        for (const two of right.near[side]) if (one.at > two.at) found += 1;
    return found;
  };

  const crossings = (rows) => {
    let found = 0;
    for (const row of rows)
      for (let one = 0; one < row.length; one += 1)
        for (let two = one + 1; two < row.length; two += 1)
          for (const a of row[one].near.down)
            for (const b of row[two].near.down) if (a.at > b.at) found += 1;
    return found;
  };

  const mean = (values) => values.reduce((sum, one) => sum + one, 0) / values.length;

  const sweep = (rows, side) => {
    for (const row of side === "up" ? rows : [...rows].reverse()) {
      const aim = new Map(row.map((node) => [
        node, node.near[side].length ? mean(node.near[side].map((one) => one.at)) : node.at,
      ]));
      row.sort((one, two) => aim.get(one) - aim.get(two) || one.at - two.at);
      row.forEach((node, at) => { node.at = at; });
    }
  };

  /** Change neighbours as long as that takes a crossing away. */
  const change = (rows) => {
    let better = true;
    for (let turn = 0; better && turn < 20; turn += 1) {
      better = false;
      for (const row of rows)
        for (let at = 1; at < row.length; at += 1) {
          const [left, right] = [row[at - 1], row[at]];
          if (between(left, right) <= between(right, left)) continue;
          [row[at - 1], row[at]] = [right, left];
          [right.at, left.at] = [at - 1, at];
          better = true;
        }
    }
  };

  /** The order of all birds first; then better ones, if there are any. */
  const order = (rows) => {
    number(rows);
    const keep = () => rows.map((row) => [...row]);
    change(rows);
    let best = keep();
    let fewest = crossings(rows);
    for (let turn = 0; turn < 8 && fewest; turn += 1) {
      sweep(rows, turn % 2 ? "down" : "up");
      change(rows);
      const now = crossings(rows);
      if (now < fewest) [best, fewest] = [keep(), now];
    }
    best.forEach((row, at) => rows[at].splice(0, row.length, ...row));
    number(rows);
    return fewest;
  };

  /** Nearest places to those aimed at that keep the order and the distances (least squares). */
  const spread = (row, aims) => {
    const blocks = [];
    let offset = 0;
    row.forEach((node, at) => {
      if (at) offset += (row[at - 1].width + node.width) / 2 + GAP;
      let block = { sum: aims[at] - offset, nodes: [[node, offset]] };
      while (blocks.length) {
        const last = blocks[blocks.length - 1];
        if (last.sum / last.nodes.length <= block.sum / block.nodes.length) break;
        blocks.pop();
        block = { sum: last.sum + block.sum, nodes: [...last.nodes, ...block.nodes] };
      }
      blocks.push(block);
    });
    for (const { sum, nodes } of blocks)
      for (const [node, shift] of nodes) node.x = sum / nodes.length + shift;
  };

  const settle = (rows) => {
    for (const row of rows) spread(row, row.map(() => 0));
    for (let turn = 0; turn < 24; turn += 1) {
      const sides = turn > 17 ? ["up", "down"] : [turn % 2 ? "down" : "up"];
      for (const row of turn % 2 ? [...rows].reverse() : rows)
        spread(row, row.map((node) => {
          const near = sides.flatMap((side) => node.near[side]);
          return near.length ? mean(near.map((one) => one.x)) : node.x;
        }));
    }
  };

  /** Give nodes {row, place, width, height} their x and y; links {from, to} the points they pass. */
  return (nodes, links) => {
    const rows = rowsOf(nodes, links);
    const crossed = order(rows);
    settle(rows);
    let y = 0;
    for (const row of rows) {
      const high = Math.max(...row.map((node) => node.height));
      for (const node of row) { node.y = y + high / 2; node.high = high; }
      y += high + BETWEEN;
    }
    const all = rows.flat();
    const left = Math.min(...all.map((node) => node.x - node.width / 2));
    for (const node of all) node.x -= left;
    const width = Math.max(...all.map((node) => node.x + node.width / 2));
    return { rows, width, height: y - BETWEEN, crossings: crossed };
  };
})();
