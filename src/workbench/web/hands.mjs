// The hands: the key, the switches, what calls and what the loads do.
import { button, make, refill } from "./make.mjs";
import { later, t } from "./words.mjs";

const groups = [["hand", later("Key and switches")], ["call", later("What feels and calls")], ["demand", later("What each load does")]];

/** Why an input has no effect now, or "". */
function waiting(desk, input) {
  if (!input.waits) return "";
  const other = desk.job.inputs[input.waits.input];
  const at = other.positions.indexOf(desk.hands[other.name] ?? other.positions[0]);
  return input.waits.positions.includes(at) ? "" : t("waits for {other}: {positions}", { other: other.name, positions: input.waits.positions.map((i) => other.positions[i]).join(t(" or ")) });
}

function oneHand(desk, input) {
  const said = make("span", { class: "what" }, input.what);
  const plates = input.positions.map((position) => make("label", null, make("input", {
    type: "radio", name: `hand ${input.name}`, value: position,
    onchange: (event) => desk.turn(input.name, position, event.timeStamp),
  }), make("span", null, position)));
  const set = make("fieldset", { class: "hand", "data-input": input.name }, make("legend", null, make("strong", null, input.name), " ", said), make("div", { class: "plates" }, plates));
  const draw = () => {
    const at = desk.hands[input.name] ?? input.positions[0], why = waiting(desk, input);
    for (const plate of plates) { const radio = plate.firstChild; if (radio.checked !== (radio.value === at)) radio.checked = radio.value === at; }
    if (set.disabled !== (why !== "")) { set.disabled = why !== ""; refill(said, why || input.what); }
    set.classList.toggle("turned", at !== input.positions[0]);
  };
  return { set, draw };
}

/** The hands as an element; `end` lets them go. */
export function makeHands(desk) {
  const root = make("section", { class: "hands", "aria-label": t("Hands") });
  let hands = [], drawnFor = "";
  const open = new Set(["hand"]);
  const draw = () => hands.forEach((hand) => hand.draw());
  const build = () => {
    const key = JSON.stringify(desk.job.inputs);
    if (key === drawnFor) return draw();
    drawnFor = key;
    hands = [];
    refill(root, make("div", { class: "over" }, make("h2", null, t("Hands")), button(t("All at rest"), (event) => desk.rest(event.timeStamp), { title: t("All at rest (R)") })),
      groups.map(([kind, title]) => {
        const made = desk.job.inputs.filter((input) => input.kind === kind).map((input) => oneHand(desk, input));
        hands.push(...made);
        return made.length === 0 ? null : make("details", { open: open.has(kind), ontoggle: (event) => open[event.target.open ? "add" : "delete"](kind) },
          make("summary", null, t(title), make("span", { class: "n" }, ` ${made.length}`)), made.map(({ set }) => set));
      }),
      desk.job.inputs.length === 0 ? make("p", null, t("Nothing in this job can be switched yet.")) : null);
    draw();
  };
  build();
  const ends = [desk.on("job", build), desk.on("hands", draw)];
  return { root, end: () => ends.forEach((end) => end()) };
}
