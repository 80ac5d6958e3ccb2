// The diagram of the write-up, operated: every state was computed beforehand and lies in the page.
const job = JSON.parse(document.getElementById("job").textContent);
const said = (word, values) => job.words[word].replace(/\{(\w+)\}/g, (_, key) => values[key]);
const position = job.inputs.map(() => 0);
const PER_DECADE = 4681, LEAST_A = 1e-4, VOLT_STEP = 2e-3, FLOATING = -32768, CARRIES_A = 1e-3;

// The cells are little-endian, as nearly every machine is.
function readCells(buffer) {
  const own = new Int16Array(buffer);
  if (new Uint8Array(Int16Array.of(1).buffer)[0] === 1) return own;
  const view = new DataView(buffer);
  return own.map((_, i) => view.getInt16(2 * i, true));
}

async function unpack(text) {
  const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
  return readCells(await new Response(stream).arrayBuffer());
}

const first = { wires: 0, elements: job.wires.length };
first.pins = first.elements + job.elements.length;
first.coils = first.pins + job.pins.length;

const amps = (code) => Math.sign(code) * (code ? LEAST_A * 10 ** (Math.abs(code) / PER_DECADE) : 0);

function state() {
  return job.inputs.reduce((sum, input, i) => sum + input.stride * position[i], 0);
}

// The state of rest stands in the page as it is, so that it shows before all others are unpacked.
const cell = (cells, column) => (cells ? cells[column * job.states + state()] : job.rest[column]);
const wireAmps = (cells, i) => amps(cell(cells, first.wires + i));
const elementAmps = (cells, i) => amps(cell(cells, first.elements + i));
function volts(cells, pin) {
  const code = pin < 0 ? FLOATING : cell(cells, first.pins + pin);
  return code === FLOATING ? NaN : code * VOLT_STEP;
}

const three = (value) => String(Number(value.toPrecision(3)));
function showAmps(value) {
  const size = Math.abs(value);
  if (size < LEAST_A) return job.words.no_current;
  return size < 1 ? `${three(size * 1000)} mA` : `${three(size)} A`;
}
const showVolts = (value) => (Number.isNaN(value) ? job.words.floating : `${value.toFixed(2)} V`);

// An input that waits for another (an alternator for the key) falls back to rest without it.
function keepPossible() {
  job.inputs.forEach((input, i) => {
    if (input.waits && !input.waits.positions.includes(position[input.waits.input])) position[i] = 0;
  });
}

function makeControls(change) {
  const form = document.getElementById("controls");
  job.inputs.forEach((input, i) => {
    if (!input.stride) return;
    const set = form.appendChild(document.createElement("fieldset"));
    const legend = set.appendChild(document.createElement("legend"));
    legend.textContent = input.what ? `${input.name}: ${input.what}` : input.name;
    input.positions.forEach((word, p) => {
      const label = set.appendChild(document.createElement("label"));
      const radio = label.appendChild(document.createElement("input"));
      Object.assign(radio, { type: "radio", name: `input${i}`, value: p, checked: p === 0 });
      label.append(word);
      radio.addEventListener("change", () => { position[i] = p; change(); });
    });
  });
}

function showControls() {
  job.inputs.forEach((input, i) => {
    for (const radio of document.getElementsByName(`input${i}`)) {
      radio.checked = Number(radio.value) === position[i];
      radio.disabled = Boolean(input.waits) && radio.value !== "0" &&
        !input.waits.positions.includes(position[input.waits.input]);
    }
  });
}

function makeLoads() {
  const body = document.querySelector("#loads tbody");
  return job.elements.flatMap((element, i) => {
    if (!element.load) return [];
    const row = body.appendChild(document.createElement("tr"));
    const cells = [...document.querySelectorAll("#loads th")].map((title) => {
      const td = row.appendChild(document.createElement("td"));
      td.dataset.title = title.textContent;
      return td;
    });
    cells[0].textContent = element.name;
    cells[1].textContent = element.what;
    return [{ i, element, row, cells }];
  });
}

function showLoads(cells, loads) {
  for (const load of loads) {
    const current = elementAmps(cells, load.i);
    const across = Math.abs(volts(cells, load.element.pins[0]) -
      (load.element.pins[1] < 0 ? 0 : volts(cells, load.element.pins[1])));
    load.row.classList.toggle("carries", Math.abs(current) >= CARRIES_A);
    load.cells[2].textContent = showAmps(current);
    load.cells[3].textContent = showVolts(across);
  }
}

function showNow(cells) {
  const pulled = job.coils.filter((name, c) => name && cell(cells, first.coils + c));
  const off = job.inputs.flatMap((input, i) => (position[i] ? [`${input.name}=${input.positions[position[i]]}`] : []));
  document.getElementById("now").textContent =
    said("now", { state: off.join(" ") || job.words.rest, relays: pulled.join(", ") || job.words.none });
}

function groups(kind, names) {
  const index = new Map(names.map((name, i) => [name, i]));
  return [...document.querySelectorAll(`.sheet g[data-${kind}]`)].flatMap((g) => {
    const i = index.get(g.dataset[kind]);
    return i === undefined ? [] : [{ g, i, kind }];
  });
}

function tell(cells, chosen) {
  if (!chosen) return "";
  const { kind, i } = chosen;
  if (kind === "wire") {
    const w = job.wires[i];
    const figures = { from: job.pins[w.pins[0]], to: job.pins[w.pins[1]], current: showAmps(wireAmps(cells, i)),
      start: showVolts(volts(cells, w.pins[0])), end: showVolts(volts(cells, w.pins[1])) };
    return said("wire", { ...w, ...figures }) + (w.hot ? ` ${said("hot", w)}` : "");
  }
  const e = job.elements[i];
  return said("element", { ...e, current: showAmps(elementAmps(cells, i)) });
}

let cells = null;
const loads = makeLoads();
const drawn = [...groups("wire", job.wires.map((w) => w.name)), ...groups("element", job.elements.map((e) => e.name))];
let chosen = null;

function show() {
  keepPossible();
  showControls();
  for (const item of drawn) {
    const current = item.kind === "wire" ? wireAmps(cells, item.i) : elementAmps(cells, item.i);
    item.g.classList.toggle("carries", Math.abs(current) >= CARRIES_A);
    item.g.classList.toggle("chosen", chosen !== null && chosen.kind === item.kind && chosen.i === item.i);
  }
  showNow(cells);
  showLoads(cells, loads);
  document.getElementById("told").textContent = tell(cells, chosen);
}

for (const item of drawn)
  item.g.addEventListener("click", (event) => { event.stopPropagation(); chosen = item; show(); });
makeControls(() => cells && show());
show();
performance.mark("first state");
cells = await unpack(document.getElementById("states").textContent);
show();
document.body.dataset.ready = "";
