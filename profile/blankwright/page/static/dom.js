/* Making elements: h for HTML, s for SVG. Text is always text, never markup. */

const SVG = "http://www.w3.org/2000/svg";

function filled(element, given, children) {
  for (const [name, value] of Object.entries(given || {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name in element && !(element instanceof SVGElement) && name !== "list" && name !== "form") element[name] = value;
    else element.setAttribute(name, value === true ? "" : value);
  }
  for (const child of children.flat()) if (child !== null && child !== undefined) element.append(child);
  return element;
}

export function h(name, given, ...children) { return filled(document.createElement(name), given, children); }
export function s(name, given, ...children) { return filled(document.createElementNS(SVG, name), given, children); }
export function byId(name) { return document.getElementById(name); }
