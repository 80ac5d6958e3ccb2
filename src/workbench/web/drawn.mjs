// Drawings of the engine, taken into the page: only known elements and attributes get in.
const elements = new Set(["svg", "g", "path", "circle", "rect", "text", "title"]);
const attributes = new Set(["viewBox", "width", "height", "x", "y", "cx", "cy", "r", "rx", "d", "fill", "stroke", "stroke-width", "stroke-dasharray", "stroke-linecap",
  "stroke-linejoin", "fill-rule", "transform", "text-anchor", "textLength", "lengthAdjust", "font-size", "font-weight", "font-family", "shape-rendering", "pointer-events", "pointer-events",
  "data-wire", "data-element", "data-part", "data-pin", "data-path"]);

function copy(from) {
  const to = document.createElementNS("http://www.w3.org/2000/svg", from.localName);
  for (const { name, value } of from.attributes)
    if (attributes.has(name) && !/url\s*\(|javascript:/i.test(value)) to.setAttribute(name, value);
  for (const child of from.childNodes)
    if (child.nodeType === Node.TEXT_NODE) to.append(child.data);
    else if (child.nodeType === Node.ELEMENT_NODE && elements.has(child.localName) && child.localName !== "title") to.append(copy(child));
  return to;
}

/** The drawing as an element of the page. `label`: what it shows, for those who hear it. */
export function drawn(markup, label, role = "img") {
  const read = new DOMParser().parseFromString(markup, "image/svg+xml").documentElement;
  if (read.localName !== "svg") throw new Error("the drawing could not be read");
  const svg = copy(read);
  svg.setAttribute("role", role);
  svg.setAttribute("aria-label", label);
  return svg;
}

/** Its size in mm. */
export function sizeOf(svg) {
  const [, , width, height] = svg.getAttribute("viewBox").split(/[ ,]+/).map(Number);
  return { width, height };
}
