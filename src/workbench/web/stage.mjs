// Where drawings lie: sheets one below the other, moved and drawn nearer by wheel, keys, two fingers, mouse and buttons.
import { sizeOf } from "./drawn.mjs";
import { button, make } from "./make.mjs";
import { t } from "./words.mjs";

const LEAST = 0.8, MOST = 40, READABLE = 3.4; // px a mm

export function makeStage(label) {
  const bed = make("div", { class: "bed" });
  const root = make("div", { class: "stage", tabindex: "0", role: "group", "aria-label": label }, bed);
  let scale = 0, widest = 0, fits = true;

  function zoom(wanted, x = root.clientWidth / 2, y = root.clientHeight / 2) {
    const next = Math.min(MOST, Math.max(LEAST, wanted));
    if (next === scale) return;
    const left = (root.scrollLeft + x) / (scale || next), top = (root.scrollTop + y) / (scale || next);
    scale = next;
    bed.style.setProperty("--mm", `${scale}px`);
    root.scrollLeft = left * scale - x;
    root.scrollTop = top * scale - y;
  }
  const by = (factor, x, y) => { fits = false; zoom(scale * factor, x, y); };
  const whole = () => { fits = true; if (widest > 0 && root.clientWidth > 0) zoom((root.clientWidth - 24) / widest); };
  const first = () => { fits = true; if (widest > 0 && root.clientWidth > 0) zoom(Math.max(READABLE, (root.clientWidth - 24) / widest)); };

  function lay(sheets) {
    widest = 0;
    bed.replaceChildren(...sheets.map((svg, i) => {
      const { width, height } = sizeOf(svg);
      svg.removeAttribute("width");
      svg.removeAttribute("height");
      svg.style.setProperty("--w", width);
      svg.style.setProperty("--h", height);
      widest = Math.max(widest, width);
      return make("div", { class: "sheet", "data-sheet": String(i + 1) }, svg);
    }));
    if (scale === 0) first();
  }

  function show(sheet) {
    const element = bed.children[sheet - 1];
    if (element) root.scrollTo({ left: 0, top: element.offsetTop - 8 });
  }

  // `scrollIntoView` finds its way to a part of a drawing in some browsers only. On a narrow screen the slip covers the lower half.
  function seek(thing, middle) {
    root.scrollIntoView({ block: middle ? "start" : "nearest" });
    const box = thing.getBoundingClientRect(), view = root.getBoundingClientRect();
    const way = (low, high, from, to) => low < from ? low - from - 8 : high > to ? high - to + 8 : 0;
    if (middle) root.scrollBy((box.left + box.right - view.left - view.right) / 2, (box.top + box.bottom) / 2 - view.top - Math.min(view.height / 2, innerHeight / 4));
    else root.scrollBy(way(box.left, box.right, view.left, view.right), way(box.top, box.bottom, view.top, view.bottom));
  }

  root.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !event.metaKey && !event.altKey) return;
    event.preventDefault();
    const box = root.getBoundingClientRect();
    by(Math.exp(-event.deltaY * (event.deltaMode === 1 ? 0.05 : 0.0025)), event.clientX - box.left, event.clientY - box.top);
  }, { passive: false });

  let fingers = null;
  const spread = ([a, b]) => Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY);
  root.addEventListener("touchstart", (event) => { fingers = event.touches.length === 2 ? spread(event.touches) : null; }, { passive: true });
  root.addEventListener("touchmove", (event) => {
    if (event.touches.length !== 2 || fingers === null) return;
    event.preventDefault();
    const [a, b] = event.touches, box = root.getBoundingClientRect(), now = spread(event.touches);
    by(now / fingers, (a.clientX + b.clientX) / 2 - box.left, (a.clientY + b.clientY) / 2 - box.top);
    fingers = now;
  }, { passive: false });
  root.addEventListener("touchend", () => { fingers = null; }, { passive: true });

  let held = null;
  root.addEventListener("pointerdown", (event) => {
    if (event.pointerType === "mouse" && event.button <= 1) held = { x: event.clientX, y: event.clientY, left: root.scrollLeft, top: root.scrollTop, far: false };
  });
  root.addEventListener("pointermove", (event) => {
    if (!held || event.buttons === 0) return void (held = null);
    const x = event.clientX - held.x, y = event.clientY - held.y;
    held.far ||= Math.hypot(x, y) > 5;
    if (!held.far) return;
    root.classList.add("held");
    root.scrollLeft = held.left - x;
    root.scrollTop = held.top - y;
  });
  const letGo = () => root.classList.remove("held");
  root.addEventListener("pointerup", letGo);
  root.addEventListener("pointerleave", letGo);
  root.addEventListener("click", (event) => { if (held?.far) event.stopPropagation(); held = null; }, true);

  root.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const act = { "+": () => by(1.25), "=": () => by(1.25), "-": () => by(0.8), 0: whole }[event.key];
    const step = { ArrowLeft: [-80, 0], ArrowRight: [80, 0], ArrowUp: [0, -80], ArrowDown: [0, 80] }[event.key];
    if (act) act();
    else if (step && (event.shiftKey || event.target === root)) root.scrollBy(...step);
    else return;
    event.preventDefault();
  });

  const watch = new ResizeObserver(() => { if (scale === 0) first(); else if (fits && root.clientWidth > 0) zoom(Math.max(scale, 0)); });
  watch.observe(root);

  const nearness = make("div", { class: "nearness", role: "group", "aria-label": t("Nearer and farther") },
    button("+", () => by(1.25), { "aria-label": t("Nearer"), title: t("Nearer (+)") }), button("\u2212", () => by(0.8), { "aria-label": t("Farther"), title: t("Farther (-)") }),
    button(t("Whole"), whole, { title: t("Whole width (0)") }));
  return { root, bed, nearness, lay, show, seek, by, whole, end: () => watch.disconnect() };
}
