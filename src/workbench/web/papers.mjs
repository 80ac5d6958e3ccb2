// The papers: all that is printed and handed over, made by one long run that can be stopped.
import { button, make, refill } from "./make.mjs";
import { later, t } from "./words.mjs";

const told = {
  "packet.pdf": later("All papers in one: cautions, diagram, tables, test sheets. Print this one."), "write-up.html": later("The page for others: one file that opens anywhere, with the diagram to operate."),
  "diagram.pdf": later("The diagram alone."), "board.pdf": later("The board at true length, to lay wires on."), "faces.pdf": later("Faces of the plugs."), "routes.pdf": later("Where the wires run."),
  "labels.pdf": later("Labels to cut out and stick on."), "guide.pdf": later("What to do when something does not run."),
};
let run = null, timer = 0;

const rank = (name) => { const at = Object.keys(told).indexOf(name); return at < 0 ? 99 : at; };

function files(id, names) {
  const link = (name, open) => make("a", open ? { href: `/runs/${id}/files/${encodeURIComponent(name)}`, target: "_blank", rel: "noopener", class: "press" }
    : { href: `/runs/${id}/files/${encodeURIComponent(name)}`, download: name, class: "press" }, open ? t("Open") : t("Save"), make("span", { class: "hidden" }, ` ${name}`));
  const rows = (list) => list.map((name) => make("li", null, make("div", null, make("strong", null, name), make("p", null, t(told[name] ?? ""))), make("div", { class: "acts" }, /\.(pdf|html)$/.test(name) ? link(name, true) : null, link(name, false))));
  const sorted = names.map((file) => file.name ?? file).sort((a, b) => rank(a) - rank(b) || a.localeCompare(b));
  const main = sorted.filter((name) => !name.endsWith(".csv")), tables = sorted.filter((name) => name.endsWith(".csv"));
  return [make("ul", { class: "files" }, rows(main)), tables.length > 0 ? make("details", null, make("summary", null, t("{n} tables for a spreadsheet", { n: tables.length })), make("ul", { class: "files" }, rows(tables))) : null];
}

export const view = {
  name: "papers",
  title: later("Papers"),
  show(place, desk) {
    const share = make("input", { type: "checkbox", id: "share" }), variant = make("select", { id: "variant" }, make("option", { value: "" }, t("as it stands")), desk.job.variants.map((name) => make("option", { value: name }, name)));
    const course = make("div", { class: "course", "aria-live": "polite" }), made = make("div", { class: "made" });
    const start = button(t("Make the papers"), begin, { class: "main" });

    async function begin() {
      start.disabled = true;
      refill(made);
      try {
        const answer = await desk.ask("/runs", { method: "POST", body: { verb: "packet", share: share.checked, ...(variant.value ? { variant: variant.value } : {}) } });
        run = { id: answer.run, edition: desk.job.edition };
        watch();
      } catch (error) {
        refill(course, make("p", { class: "error" }, `${error.wrong} ${error.remedy}`));
        start.disabled = false;
      }
    }

    async function watch() {
      clearTimeout(timer);
      const mine = run;
      let state;
      try { state = await desk.ask(`/runs/${encodeURIComponent(mine.id)}`); } catch (error) {
        run = null;
        start.disabled = false;
        return void refill(course, error.status === 404 ? null : make("p", { class: "error" }, `${error.wrong} ${error.remedy}`));
      }
      if (mine !== run || !place.isConnected || !course.isConnected) return;
      start.disabled = !state.done;
      if (!state.done) {
        const bar = course.querySelector("progress") ?? make("progress", { max: "1", "aria-label": t("How far the papers are") });
        if (state.share > 0) bar.value = state.share;
        if (!bar.isConnected) refill(course, make("p", null, t("Making the papers …")), bar, button(t("Stop"), async () => { await desk.ask(`/runs/${encodeURIComponent(mine.id)}`, { method: "DELETE" }); watch(); }));
        timer = setTimeout(watch, 300);
        return;
      }
      refill(course, state.wrong ? make("p", { class: "error" }, state.wrong.wrong ?? state.wrong) : make("p", null, state.stopped ? t("Stopped.") : t("Done, from edition {edition}.", mine), " ",
        !state.stopped && mine.edition !== desk.job.edition ? make("strong", null, t("The sheet has changed since: make them again.")) : null));
      refill(made, files(mine.id, state.files ?? []));
    }

    place.append(make("section", { class: "papers" }, make("h2", null, t("Papers")),
      make("p", null, t("To print, pin up and tick: cautions first, then the diagram, wire list, cut list, labels, the board, test sheets before and at first power, and a page that others can repeat the work from.")),
      make("div", { class: "ask" }, make("label", { class: "tick" }, share, t("To share: leave out who wrote, measured and said what")),
        desk.job.variants.length > 0 ? make("div", null, make("label", { for: "variant" }, t("Which way")), " ", variant) : null, start),
      course, made, make("p", { class: "caution" }, t("These papers do not replace local codes, inspection or licensed practice."))));
    if (run) watch();
  },
  leave() { clearTimeout(timer); },
};
