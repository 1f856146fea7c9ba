/* What all scripts of the page share: data by name, elements made without markup. */
const page = (() => {
  "use strict";

  /** The data that the page carries under a name; null where there is none. */
  const data = (name) => {
    const block = document.getElementById(`data-${name}`);
    return block ? JSON.parse(block.textContent) : null;
  };

  const SVG = "http://www.w3.org/2000/svg";

  const fill = (element, attributes, children) => {
    for (const [name, value] of Object.entries(attributes)) {
      if (value === false || value === null || value === undefined) continue;
      if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
      else element.setAttribute(name, value === true ? "" : String(value));
    }
    element.append(...children.filter((child) => child !== null && child !== undefined));
    return element;
  };

  /** An element with attributes (onclick: a listener) and children; text is never read as markup. */
  const el = (tag, attributes = {}, ...children) =>
    fill(document.createElement(tag), attributes, children);

  /** The same for the elements of a drawing. */
  const svg = (tag, attributes = {}, ...children) =>
    fill(document.createElementNS(SVG, tag), attributes, children);

  /** Show what only works with scripts. */
  for (const element of document.querySelectorAll(".scripted")) element.hidden = false;

  return { data, el, svg };
})();
