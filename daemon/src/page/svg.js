// Making SVG elements.

const NAMESPACE = "http://www.w3.org/2000/svg";

/** Adds an element with attributes to a parent; `text` becomes its content. */
export function add(parent, name, attributes = {}, text = "") {
  const element = document.createElementNS(NAMESPACE, name);
  set(element, attributes);
  if (text) element.textContent = text;
  parent.append(element);
  return element;
}

/** Sets attributes; lengths are rounded to a tenth of a pixel. */
export function set(element, attributes) {
  for (const [key, value] of Object.entries(attributes)) {
    element.setAttribute(key, typeof value === "number" ? Math.round(value * 10) / 10 : value);
  }
}
