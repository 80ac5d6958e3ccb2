// A long study: begun, watched, stopped, and its report.
import { ask } from "./ask.mjs";
import { button, make, refill } from "./make.mjs";
import { t } from "./words.mjs";

const pause = (ms) => new Promise((settle) => setTimeout(settle, ms));

/** Runs it to its end. `told(share)` hears how far it is; an aborted `signal` stops it. */
export async function study(what, { told = () => {}, signal } = {}) {
  const { run } = await ask("/runs", { method: "POST", body: what });
  const stop = () => ask(`/runs/${run}`, { method: "DELETE" }).catch(() => {});
  signal?.addEventListener("abort", stop, { once: true });
  for (let wait = 60; ; wait = Math.min(wait * 1.4, 400)) {
    const state = await ask(`/runs/${run}`);
    if (state.done) {
      if (state.wrong) throw Object.assign(new Error(state.wrong), { wrong: state.wrong, remedy: state.remedy ?? "", status: 200 });
      return state;
    }
    told(state.share);
    await pause(wait);
  }
}

/** The same with a bar and a way to stop it in `place`; resolves to null when it went wrong or nothing came of it. */
export async function watched(place, what, words) {
  const ends = new AbortController();
  const bar = make("progress", { max: "1", "aria-label": words });
  refill(place, make("p", null, words), bar, button(t("Stop"), () => ends.abort()));
  try {
    const state = await study(what, { signal: ends.signal, told: (share) => { if (share > 0) bar.value = share; } });
    refill(place, state.stopped ? make("p", null, t("Stopped.")) : null);
    return state.report ? state : null;
  } catch (error) {
    refill(place, make("p", { class: "error" }, `${error.wrong ?? error} ${error.remedy ?? ""}`));
    return null;
  }
}

/** A file that the study wrote. */
export const fileOf = (state, name) => `/runs/${state.id}/files/${encodeURIComponent(name)}`;

/** Takes in the look that the views of studies have of their own. */
export function dress() {
  if (!document.querySelector('link[href="/page/study.css"]')) document.head.append(make("link", { rel: "stylesheet", href: "/page/study.css" }));
}
