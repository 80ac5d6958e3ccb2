// The keyboard: what each key does, and the page that tells it.
import { button, lay, make } from "./make.mjs";
import { later, t } from "./words.mjs";

const list = [
  ["?", later("this page")], ["1 … 9", later("the views, in their order")], ["Ctrl Z", later("take back the last change")], ["Ctrl Shift Z", later("do it again")],
  ["H", later("to the hands")], ["D", later("to the drawing")], ["S", later("to the slip")], ["/", later("find a wire, pin or part")], ["R", later("all hands at rest")], ["F", later("figures beside the things")],
  ["\u2190 \u2191 \u2192 \u2193", later("in the drawing: to the next thing; on the empty paper: move it")], ["Enter", later("choose the thing")], ["Esc", later("put the slip away")],
  ["+  \u2212  0", later("in the drawing: nearer, farther, whole width")], ["Ctrl and wheel", later("nearer and farther")],
];
const STORE = "loomgraft single keys";
const single = () => localStorage.getItem(STORE) !== "off";

export function openKeys() {
  return lay(t("Keys"), (close) => make("div", null,
    make("dl", { class: "keys" }, list.flatMap(([key, what]) => [make("dt", null, make("kbd", null, key)), make("dd", null, t(what))])),
    make("label", { class: "tick" }, make("input", { type: "checkbox", checked: single(), onchange: (event) => localStorage.setItem(STORE, event.target.checked ? "on" : "off") }), t("Single letters act (turn this off when you speak to the machine)")),
    make("div", { class: "acts" }, button(t("Close"), () => close(), { autofocus: true }))));
}

export function listenToKeys(desk) {
  const into = (selector) => { const element = document.querySelector(selector); element?.scrollIntoView?.({ block: "nearest" }); element?.focus(); return Boolean(element); };
  const acts = {
    "?": openKeys, r: () => desk.rest(), f: () => document.querySelector("button.figures")?.click(),
    h: () => into(".hands input:checked"), d: () => into(".stage [tabindex='0']") || into(".stage"), s: () => into(".slip h2, .slip input"),
    "/": () => { if (desk.chosen) desk.choose(null); if (!document.getElementById("find")) desk.go("diagram"); into("#find"); },
  };
  addEventListener("keydown", (event) => {
    if (document.querySelector("dialog[open]") || event.defaultPrevented) return;
    const writes = event.target.closest?.("input:not([type=radio]):not([type=checkbox]), textarea, select, [contenteditable]");
    if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z" && !writes) { event.preventDefault(); desk.takeBack(event.shiftKey ? "redo" : "undo"); return; }
    if (event.key === "Escape" && desk.chosen && !writes) return desk.choose(null);
    if (writes || event.ctrlKey || event.metaKey || event.altKey || !single()) return;
    const nth = /^[1-9]$/.test(event.key) ? desk.views[Number(event.key) - 1] : null;
    const act = nth ? () => desk.go(nth.name) : acts[event.key.toLowerCase()];
    if (!act) return;
    event.preventDefault();
    act();
  });
}
