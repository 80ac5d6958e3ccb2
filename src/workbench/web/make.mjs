// The only way in which this page makes elements: what it is given as text becomes text, never markup.
const INK = "http://www.w3.org/2000/svg";

function fill(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (value === null || value === undefined || value === false) continue;
    if (typeof value === "function") element.addEventListener(name.replace(/^on/, ""), value);
    else if (name === "value" || name === "checked" || name === "disabled") element[name] = value;
    else if (name === "style" || name.startsWith("on")) throw new TypeError(`${name} is not for make()`);
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false));
  return element;
}

/** An element; attributes whose value is a function are listeners; children: elements, texts, lists, null. */
export const make = (tag, attributes, ...children) => fill(document.createElement(tag), attributes, children);

/** The same for what is drawn. */
export const ink = (tag, attributes, ...children) => fill(document.createElementNS(INK, tag), attributes, children);

/** A button that does something here and now. */
export const button = (words, press, attributes) => make("button", { type: "button", onclick: press, ...attributes }, words);

/** Puts new children in place of the old ones. */
export function refill(element, ...children) {
  element.replaceChildren();
  return fill(element, null, children);
}

/** A sheet of paper over the page. `close` is handed to the maker; resolves with what it was closed with. */
export function lay(title, maker) {
  return new Promise((settle) => {
    const before = document.activeElement;
    const sheet = make("dialog", { "aria-labelledby": "laid", class: "laid" });
    let answer;
    const close = (value) => { answer = value; sheet.close(); };
    sheet.addEventListener("close", () => { sheet.remove(); before?.focus?.(); settle(answer); });
    sheet.append(make("h2", { id: "laid" }, title), maker(close));
    document.body.append(sheet);
    sheet.showModal();
  });
}
