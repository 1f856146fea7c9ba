/* Maps of kinship: look up two birds, walk the table by keys, draw the maps too large for one. */
(() => {
  "use strict";

  const OVER = 1 << 13, PAIRED = 1 << 14, SAME = 1 << 15;

  /** A map as its data say: birds along both edges, and a number for each cell. */
  const read = (data) => {
    const bytes = Uint8Array.from(atob(data.cells), (letter) => letter.charCodeAt(0));
    const rows = data.rows.flatMap(([, birds]) => birds);
    const columns = data.columns.flatMap(([, birds]) => birds);
    const at = (row, column) => {
      const place = 2 * (row * columns.length + column);
      return bytes[place] | (bytes[place + 1] << 8);
    };
    return { ...data, rows, columns, groups: [data.rows, data.columns], at };
  };

  const step = (cell) => (cell >> 10) & 7;

  const kinship = (map, cell) => {
    const number = cell & 1023;
    if (number === 0) return "0";
    return number === map.trace ? "below 0.001" : (number / 1000).toFixed(3);
  };

  const sentence = (map, row, column) => {
    const cell = map.at(row, column);
    if (cell & SAME) return `${map.rows[row]} is one bird: name another.`;
    const marks = [cell & OVER ? "above the limit" : "", cell & PAIRED ? "in one pen this season" : ""];
    const pair = `${map.rows[row]} with ${map.columns[column]}`;
    return [`${pair}: kinship ${kinship(map, cell)}`, ...marks.filter(Boolean)].join(", ");
  };

  /** Where a typed band stands: as it is written, else the one band that differs in case only. */
  const find = (bands, typed) => {
    const exact = bands.indexOf(typed);
    if (exact >= 0) return exact;
    const wanted = typed.trim().toLowerCase();
    const like = bands.flatMap((band, at) => (band.toLowerCase() === wanted ? [at] : []));
    return like.length === 1 ? like[0] : -1;
  };

  const options = (list, bands) => list.append(...bands.map((band) => page.el("option", { value: band })));

  const askFields = (figure, map, moved) => {
    const [row, column] = figure.querySelectorAll(".kin-ask input");
    const [rows, columns] = figure.querySelectorAll(".kin-ask datalist");
    const output = figure.querySelector(".kin-ask output");
    options(rows, map.rows);
    options(columns, map.columns);
    const ask = () => {
      const found = [find(map.rows, row.value), find(map.columns, column.value)];
      if (found.every((at) => at >= 0)) {
        output.textContent = sentence(map, ...found);
        moved(...found);
        return;
      }
      const missing = found[0] < 0 ? [row, map.words[0]] : [column, map.words[1]];
      output.textContent = missing[0].value ? `No ${missing[1]} on this map is called ${missing[0].value}.` : "";
    };
    for (const field of [row, column]) field.addEventListener("change", ask);
    return (atRow, atColumn) => {
      row.value = map.rows[atRow];
      column.value = map.columns[atColumn];
      output.textContent = sentence(map, atRow, atColumn);
    };
  };

  const MOVES = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] };

  /** Where a key leads from a cell; null for keys that lead nowhere. */
  const led = (map, key, [row, column]) => {
    const last = [map.rows.length - 1, map.columns.length - 1];
    if (key === "Home") return [row, 0];
    if (key === "End") return [row, last[1]];
    if (key === "PageUp") return [0, column];
    if (key === "PageDown") return [last[0], column];
    if (!(key in MOVES)) return null;
    const [down, along] = MOVES[key];
    return [Math.min(Math.max(row + down, 0), last[0]), Math.min(Math.max(column + along, 0), last[1])];
  };

  const open = (map, row, column) => {
    if (map.words[0] === "hen" && typeof page.openPair === "function") page.openPair(map.rows[row], map.columns[column]);
  };

  /** A table as a grid with one tab stop. */
  const walkTable = (figure, map, told) => {
    const table = figure.querySelector(".kin-table");
    const lines = [...table.tBodies].flatMap((body) => [...body.rows].slice(1));
    const cells = lines.map((line) => [...line.cells].slice(1));
    const places = new Map(cells.flatMap((line, row) => line.map((cell, column) => [cell, [row, column]])));
    let here = [0, 0];
    const cell = ([row, column]) => cells[row][column];
    const stop = (place) => {
      cell(here).tabIndex = -1;
      here = place;
      cell(here).tabIndex = 0;
    };
    stop(here);
    table.setAttribute("role", "grid");
    table.addEventListener("keydown", (event) => {
      const place = led(map, event.key, here);
      if (event.key === "Enter" || event.key === " ") open(map, ...here);
      else if (place) {
        stop(place);
        cell(here).focus();
        told(...here);
      } else return;
      event.preventDefault();
    });
    table.addEventListener("click", (event) => {
      const place = places.get(event.target.closest("td"));
      if (!place) return;
      stop(place);
      cell(here).focus();
      told(...here);
      open(map, ...here);
    });
    return (row, column) => {
      stop([row, column]);
      cell(here).scrollIntoView({ block: "nearest", inline: "nearest" });
    };
  };

  const EDGE = 20, LEAST = 3, MOST = 16;

  const token = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

  /** A map drawn on a canvas: a square a cell, a cursor, the names of lines along its edges. */
  const drawMap = (figure, map, told) => {
    const box = figure.querySelector(".kin-drawing");
    const canvas = box.querySelector("canvas");
    const pen = canvas.getContext("2d");
    let here = [0, 0], size = LEAST, edge = EDGE, hair = 1;

    const names = (groups, ink) => {
      let from = 0;
      pen.fillStyle = ink;
      for (const [line, birds] of groups) {
        const room = birds.length * size - 4;
        pen.save();
        pen.beginPath();
        pen.rect(edge + from * size, 0, room, edge);
        pen.clip();
        pen.fillText(line, edge + from * size + 2, 15);
        pen.restore();
        from += birds.length;
      }
    };

    const cuts = (groups, across, ink) => {
      pen.fillStyle = ink;
      let at = 0;
      for (const [, birds] of groups.slice(0, -1)) {
        at += birds.length;
        const place = edge + at * size - hair;
        if (across) pen.fillRect(edge, place, map.columns.length * size, hair);
        else pen.fillRect(place, edge, hair, map.rows.length * size);
      }
    };

    const marks = (cell, x, y) => {
      if (cell & OVER) {
        pen.strokeStyle = token(`--on-kin-${step(cell)}`);
        pen.lineWidth = 1;
        pen.beginPath();
        pen.moveTo(x + 2, y + 2);
        pen.lineTo(x + size - 2, y + size - 2);
        pen.moveTo(x + size - 2, y + 2);
        pen.lineTo(x + 2, y + size - 2);
        pen.stroke();
      }
      if (cell & PAIRED) {
        pen.strokeStyle = token("--ink");
        pen.lineWidth = 2;
        pen.strokeRect(x + 1, y + 1, size - 2, size - 2);
      }
    };

    const draw = () => {
      const sharp = window.devicePixelRatio || 1;
      edge = Math.round(EDGE * sharp) / sharp;
      hair = Math.max(Math.floor(sharp), 1) / sharp;
      const room = box.clientWidth - edge;
      size = Math.min(Math.max(Math.floor((room * sharp) / map.columns.length) / sharp, LEAST), MOST);
      const [width, height] = [edge + map.columns.length * size, edge + map.rows.length * size];
      canvas.width = Math.round(width * sharp);
      canvas.height = Math.round(height * sharp);
      canvas.style.width = `${width}px`;
      canvas.style.height = `${height}px`;
      pen.setTransform(sharp, 0, 0, sharp, 0, 0);
      const shades = [0, 1, 2, 3, 4, 5].map((at) => token(`--kin-${at}`));
      const [ground, ink] = [token("--raised"), token("--ink")];
      pen.fillStyle = ground;
      pen.fillRect(0, 0, width, height);
      for (let row = 0; row < map.rows.length; row += 1) {
        for (let column = 0; column < map.columns.length; column += 1) {
          const cell = map.at(row, column);
          const [x, y] = [edge + column * size, edge + row * size];
          pen.fillStyle = cell & SAME ? ground : shades[step(cell)];
          pen.fillRect(x, y, size, size);
          if (cell & (OVER | PAIRED)) marks(cell, x, y);
        }
      }
      pen.font = `13px ${getComputedStyle(document.body).fontFamily}`;
      cuts(map.groups[0], true, ink);
      cuts(map.groups[1], false, ink);
      names(map.groups[1], ink);
      pen.save();
      pen.translate(0, 2 * edge + map.rows.length * size);
      pen.rotate(-Math.PI / 2);
      names([...map.groups[0]].reverse(), ink);
      pen.restore();
      cursor();
    };

    const cursor = () => {
      const [row, column] = here;
      pen.strokeStyle = token("--accent");
      pen.lineWidth = 3;
      pen.strokeRect(edge + column * size - 1.5, edge + row * size - 1.5, size + 3, size + 3);
    };

    const move = (place) => {
      here = place;
      draw();
      const [left, top] = [edge + here[1] * size, edge + here[0] * size];
      if (left < box.scrollLeft || left + size > box.scrollLeft + box.clientWidth) box.scrollLeft = left - box.clientWidth / 2;
      if (top < box.scrollTop || top + size > box.scrollTop + box.clientHeight) box.scrollTop = top - box.clientHeight / 2;
    };

    box.addEventListener("keydown", (event) => {
      const place = led(map, event.key, here);
      if (event.key === "Enter" || event.key === " ") open(map, ...here);
      else if (place) {
        move(place);
        told(...here);
      } else return;
      event.preventDefault();
    });
    canvas.addEventListener("click", (event) => {
      const edges = canvas.getBoundingClientRect();
      const column = Math.floor((event.clientX - edges.left - edge) / size);
      const row = Math.floor((event.clientY - edges.top - edge) / size);
      if (row < 0 || column < 0 || row >= map.rows.length || column >= map.columns.length) return;
      move([row, column]);
      told(...here);
      open(map, ...here);
    });
    window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", draw);
    new ResizeObserver(draw).observe(box);
    draw();
    return (row, column) => move([row, column]);
  };

  for (const figure of document.querySelectorAll("figure[data-kin]")) {
    const data = page.data(`kin-${figure.dataset.kin}`);
    if (!data) continue;
    const map = read(data);
    let show = () => {};
    const told = askFields(figure, map, (row, column) => show(row, column));
    show = figure.querySelector(".kin-table") ? walkTable(figure, map, told) : drawMap(figure, map, told);
  }
})();
