// What to do when two hands wrote at the same place, or the file was changed beside this page.
import { button, lay, make, refill } from "./make.mjs";
import { t } from "./words.mjs";

const mineOf = (edits) => edits.map((edit) => edit.text ?? `${edit.record?.kind ?? t("record")} ${edit.record?.name ?? edit.record?.index ?? ""}: ${edit.do === "remove" ? t("taken out") : `${edit.key}=${edit.value ?? ""}`}`).join("\n");

/** Shows both; resolves to "mine" or "theirs". */
export function settleConflict(error, edits) {
  const theirs = error.answer?.theirs;
  return lay(t("Somebody changed this meanwhile"), (close) => make("div", null,
    make("p", null, error.wrong), make("p", null, error.remedy),
    make("div", { class: "both" },
      make("figure", null, make("figcaption", null, t("As it stands now")), make("pre", { tabindex: "0" }, theirs ?? t("It is no longer there."))),
      make("figure", null, make("figcaption", null, t("What you were about to write")), make("pre", { tabindex: "0" }, mineOf(edits)))),
    make("div", { class: "acts" },
      button(t("Leave it as it stands"), () => close("theirs"), { autofocus: true }),
      button(t("Write mine over it"), () => close("mine")))));
}

/** A notice, for as long as the file on disk says something else than this page. */
export function diskNotice(place, desk) {
  const settle = async (take) => {
    try {
      await desk.ask("/job/disk", { method: "POST", body: { take } });
      await desk.reread();
      desk.say(t("Settled."), { undo: true });
    } catch (error) {
      desk.say(`${error.wrong} ${error.remedy}`, { wrong: true });
    }
  };
  let shown = null;
  desk.on("job", () => {
    if (desk.job.disk === shown) return;
    shown = desk.job.disk;
    refill(place, shown !== "changed" ? null : make("section", { class: "notice", "aria-label": t("The file was changed") },
      make("p", null, make("strong", null, t("{file} was changed by something else.", desk.job)), " ",
        t("The changes touch the same records, so they are not put together without you.")),
      make("div", { class: "acts" },
        button(t("Keep both where it can be"), () => settle("both")),
        button(t("Take what is in the file"), () => settle("disk")),
        button(t("Keep what is here"), () => settle("mine")))));
  });
}
