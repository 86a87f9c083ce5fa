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

/* Attributes are set where they differ, and what is in a place is made anew where what it shows is: the browser then
   lays out and paints only what has changed. */
export function put(element, given) {
  for (const [name, value] of Object.entries(given)) if (element.getAttribute(name) !== String(value)) element.setAttribute(name, value);
}
export function anew(place, told, children) {
  const now = JSON.stringify(told);
  if (place.told === now) return false;
  place.told = now;
  place.replaceChildren(...children());
  return true;
}
export function byId(name) { return document.getElementById(name); }
