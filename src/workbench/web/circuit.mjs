// A circuit more: short questions, answered in any order; the records that come of them are shown before they go into the sheet.
import { button, make, refill } from "./make.mjs";
import { later, t } from "./words.mjs";

// What one feeds most often: the part type, its letter (IEC 81346), what must be known of it, its pins.
const loads = [
  ["lamp", "E", later("a filament lamp"), { power: "21W" }], ["lamp-led", "E", later("an LED lamp"), { power: "18W" }],
  ["fan", "M", later("a fan"), { power: "60W" }], ["pump", "M", later("a pump"), { run: "5A" }],
  ["motor", "M", later("a motor"), { run: "5A", stall: "18A" }], ["heater", "E", later("a heater"), { power: "100W" }],
  ["heater-pad", "E", later("a heating pad"), { power: "45W" }], ["solenoid", "Y", later("a solenoid or valve"), { current: "1.5A" }],
  ["horn", "P", later("a horn"), {}], ["outlet", "X", later("a power outlet"), {}, "+", "-"], ["outlet-usb", "X", later("a charging outlet"), {}, "+", "-"],
];
const ways = [["relay", later("a switch triggers a relay; the relay carries it")], ["key", later("a relay follows the key")], ["switch", later("a switch carries it all")], ["none", later("it is fed all the time")]];

const recordsOf = (desk, kind) => desk.job.records.filter((record) => record.kind === kind && record.variant === 0);

/** The next free name with this letter. */
function namer(desk) {
  const taken = new Set(desk.job.records.map(({ name }) => name));
  return (letter) => {
    let n = 1;
    while (taken.has(`${letter}${n}`)) n++;
    taken.add(`${letter}${n}`);
    return `${letter}${n}`;
  };
}

/** Pins that may feed, the likeliest first: battery, studs, key, then all others that wires end at. */
function feeds(desk) {
  const parts = recordsOf(desk, "part"), named = (test) => parts.filter(({ values }) => test(values.type ?? ""));
  const wired = recordsOf(desk, "wire").flatMap(({ values }) => [values.from, values.to]);
  return [...new Set([...named((type) => type.startsWith("battery")).map(({ name }) => `${name}.+`), ...named((type) => type.startsWith("stud")).map(({ name }) => `${name}.1`),
    ...named((type) => type.startsWith("key-switch")).flatMap(({ name }) => [`${name}.15`, `${name}.75`]), ...wired])].filter(Boolean);
}
const keyPin = (desk) => recordsOf(desk, "part").filter(({ values }) => values.type?.startsWith("key-switch")).map(({ name }) => `${name}.15`)[0] ?? "";
const grounds = (desk) => recordsOf(desk, "part").filter(({ values }) => values.type === "ground").map(({ name }) => `${name}.1`);
const placeOf = (desk, pin) => recordsOf(desk, "part").find(({ name }) => name === pin.slice(0, pin.lastIndexOf(".")))?.values.at;
const quoted = (text) => `"${text.replace(/["\\]/g, "\\$&")}"`;

function volts(desk) {
  return parseFloat(recordsOf(desk, "job")[0]?.values.nominal ?? "12V") > 18 ? 24 : 12;
}

/** The records of a circuit, one a line. */
export function circuitRecords(desk, answer) {
  const next = namer(desk), lines = [], load = loads.find(([type]) => type === answer.load);
  const at = (place) => (place ? ` at=${place}` : ""), near = answer.near;
  const [, letter, , , plus = "1", minus = "2"] = load;
  const part = (name, type, place, more = "") => { lines.push(`part ${name} ${type}${at(place)}${more}`); return name; };
  const wire = (from, to, colour, where) => lines.push(`wire ${next("W")} ${from} ${to} ${colour} auto ${where}`);
  const way = answer.runs.length > 0 ? `via=${answer.runs.join(",")}` : `length=${answer.far}`;
  const feedPlace = placeOf(desk, answer.feed), words = answer.words ? ` ${quoted(answer.words)}` : "";
  const name = part(next(letter), answer.load, answer.place, `${Object.entries(answer.figures).map(([key, value]) => ` ${key}=${value}`).join("")}${words}`);
  const fuse = part(next("F"), "fuse-blade", feedPlace, words);
  const ground = answer.ground || `${part(next("XG"), "ground", answer.place)}.1`;
  wire(answer.feed, `${fuse}.1`, answer.colour, `length=${near}`);
  if (answer.way === "none") wire(`${fuse}.2`, `${name}.${plus}`, answer.colour, way);
  if (answer.way === "switch") {
    const hand = part(next("S"), "switch-on-off", answer.handPlace, words);
    wire(`${fuse}.2`, `${hand}.1`, answer.colour, way);
    wire(`${hand}.2`, `${name}.${plus}`, answer.colour, `length=${answer.far}`);
  }
  if (answer.way === "relay" || answer.way === "key") {
    const relay = part(next("K"), volts(desk) === 24 ? "relay-make-24-r" : "relay-make-r", feedPlace, words);
    const small = part(next("F"), "fuse-mini", placeOf(desk, answer.trigger), ` ${quoted(t("coil of {relay}", { relay }))}`);
    wire(`${fuse}.2`, `${relay}.30`, answer.colour, `length=${near}`);
    wire(`${relay}.87`, `${name}.${plus}`, answer.colour, way);
    wire(answer.trigger, `${small}.1`, "BK/RD", `length=${near}`);
    if (answer.way === "relay") {
      const hand = part(next("S"), "switch-on-off", answer.handPlace, words);
      wire(`${small}.2`, `${hand}.1`, "BK/RD", `length=${near}`);
      wire(`${hand}.2`, `${relay}.86`, "BU", `length=${answer.far}`);
    } else wire(`${small}.2`, `${relay}.86`, "BK/RD", `length=${answer.far}`);
    const relayGround = grounds(desk).find((pin) => placeOf(desk, pin) === feedPlace) ?? ground;
    wire(`${relay}.85`, relayGround, "BN", `length=${near}`);
  }
  wire(`${name}.${minus}`, ground, "BN", answer.ground && placeOf(desk, ground) !== answer.place ? way : `length=${near}`);
  const key = /^(.+)\.(15|75)$/.exec(answer.way === "none" || answer.way === "switch" ? answer.feed : answer.trigger);
  const input = key && desk.job.inputs.find((each) => each.name === key[1]);
  if (input) lines.push(`need ${quoted(t("{name} is dead with the key off", { name: answer.words || name }))} ${name}.${plus} volts<0.5V when ${input.name}=${input.positions[0]}`);
  return lines;
}

const labelled = (words, box, help) => make("div", { class: "row" }, make("label", { for: box.id }, words), box, help ? make("small", null, help) : null);
function listed(id, value, offers) {
  return [make("input", { id, value, list: `${id}-offers`, autocomplete: "off", spellcheck: "false" }), make("datalist", { id: `${id}-offers` }, offers.map((offer) => make("option", { value: offer })))];
}
const picked = (id, options, value) => { const box = make("select", { id }, options.map(([key, words]) => make("option", { value: key }, words))); if (value) box.value = value; return box; };

function questions(desk) {
  const metric = desk.job.habit !== "us", places = recordsOf(desk, "place").map(({ name }) => [name, name]);
  const load = picked("q-load", loads.map(([type, , words]) => [type, t(words)]));
  const words = make("input", { id: "q-words", autocomplete: "off" });
  const figures = make("div", { class: "figures-asked" });
  const place = picked("q-place", places), handPlace = picked("q-hand-place", places);
  const [feed, feedList] = listed("q-feed", feeds(desk)[0] ?? "", feeds(desk)), [trigger, triggerList] = listed("q-trigger", keyPin(desk) || feeds(desk)[0] || "", feeds(desk));
  const way = picked("q-way", ways.map(([key, said]) => [key, t(said)]));
  const ground = picked("q-ground", [...grounds(desk).map((pin) => [pin, `${pin}${placeOf(desk, pin) ? `, ${placeOf(desk, pin)}` : ""}`]), ["", t("a new one where it sits")]]);
  const colour = make("input", { id: "q-colour", value: "RD", autocomplete: "off" });
  const far = make("input", { id: "q-far", value: metric ? "2m" : "6ft", autocomplete: "off" }), near = make("input", { id: "q-near", value: metric ? "0.3m" : "1ft", autocomplete: "off" });
  const runs = make("fieldset", { class: "row" }, make("legend", null, t("Through which runs does its feed go?")), recordsOf(desk, "run").map(({ name, text }) =>
    make("label", { class: "tick" }, make("input", { type: "checkbox", value: name }), `${name}${text ? `: ${text}` : ""}`)), make("small", null, t("None ticked: the length below is taken.")));
  const ofRelay = [labelled(t("What triggers the relay: which pin feeds its coil?"), trigger, t("A key-switched pin, so that all is dead with the key off.")), triggerList];
  const ofHand = labelled(t("Where does the switch sit?"), handPlace);
  const update = () => {
    const known = loads.find(([type]) => type === load.value)[3];
    refill(figures, Object.entries(known).map(([key, value]) => labelled({ power: t("Its power"), run: t("Current while it runs"), stall: t("Current when it is held fast"), current: t("Its current") }[key], make("input", { id: `q-${key}`, "data-key": key, value, autocomplete: "off" }), t("From its plate or measured; with its unit."))));
  };
  const show = () => { for (const each of ofRelay) each.hidden = way.value !== "relay" && way.value !== "key"; ofHand.hidden = way.value !== "relay" && way.value !== "switch"; };
  load.addEventListener("change", update);
  way.addEventListener("change", show);
  update();
  show();
  const read = () => ({ load: load.value, words: words.value.trim(), place: place.value, handPlace: handPlace.value, feed: feed.value.trim(), trigger: trigger.value.trim(), way: way.value,
    ground: ground.value, colour: colour.value.trim() || "RD", far: far.value.trim(), near: near.value.trim(),
    runs: [...runs.querySelectorAll("input:checked")].map(({ value }) => value), figures: Object.fromEntries([...figures.querySelectorAll("[data-key]")].map((box) => [box.dataset.key, box.value.trim()])) });
  return { read, element: make("div", { class: "narrow asked" }, labelled(t("What is fed?"), load), labelled(t("In words"), words, t("as on its label: rear work lamp")), figures,
    labelled(t("Where does it sit?"), place), labelled(t("Which pin feeds it?"), feed, t("The fuse is put close to it.")), feedList, labelled(t("What switches it?"), way), ofRelay, ofHand,
    runs, labelled(t("Length to it, one way"), far), labelled(t("Length of the short wires beside a part"), near), labelled(t("Where does its return go?"), ground), labelled(t("Colour of its feed"), colour, t("letters as on a diagram: RD, GN/BU"))) };
}

let ends = [];

export const view = {
  name: "circuit",
  title: later("A circuit more"),
  show(place, desk) {
    const asked = questions(desk), wrong = make("div", { role: "alert" });
    const area = make("textarea", { id: "q-records", rows: 14, spellcheck: "false", wrap: "off" });
    let own = false; // typed into by hand: the answers no longer write over it
    const draw = () => { if (!own) area.value = circuitRecords(desk, asked.read()).join("\n"); };
    const put = async () => {
      const lines = area.value.split("\n").filter((line) => line.trim() !== "");
      try {
        const edition = await desk.edit(lines.map((text) => ({ do: "add", text })), t("a circuit more: {words}", { words: asked.read().words || asked.read().load }));
        if (edition === null) return;
        const name = /^part (\S+)/.exec(lines[0])?.[1];
        desk.go("diagram", name ? `part/${name}` : "");
      } catch (error) {
        refill(wrong, make("p", { class: "error" }, t("Nothing was added. {wrong} {remedy}", error)));
      }
    };
    asked.element.addEventListener("input", draw);
    asked.element.addEventListener("change", draw);
    area.addEventListener("input", () => { own = true; });
    area.addEventListener("keydown", (event) => event.stopPropagation());
    ends = [desk.on("job", draw)];
    place.append(make("div", { class: "written two" }, make("section", null, make("h2", null, t("A circuit more")), make("p", { class: "help" }, t("Answer what you know; sizes and fuse ratings are chosen by the check. Nothing is written before you say so.")), asked.element),
      make("section", null, make("h2", null, make("label", { for: "q-records" }, t("The records that come of it"))), area, wrong,
        make("div", { class: "acts" }, button(t("Put them into the sheet"), put, { class: "main" }), button(t("Make them anew from the answers"), () => { own = false; draw(); }, { class: "quiet" })))));
    draw();
  },
  leave() { ends.forEach((end) => end()); },
};
