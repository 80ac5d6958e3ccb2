// The slip that lets a phone in: a picture to scan, the code in letters, and who is in already.
import { button, lay, make, refill } from "./make.mjs";
import { drawn } from "./drawn.mjs";
import { t } from "./words.mjs";

async function devices(desk, list) {
  const answer = await desk.ask("/pairing/devices");
  refill(list, answer.devices.length === 0 ? make("li", null, t("No phone has joined yet.")) : answer.devices.map((device) =>
    make("li", null, make("span", null, make("strong", null, device.name), ` ${t("joined {joined}, seen {seen}", device)}`),
      button(t("Shut out {name}", device), async () => {
        await desk.ask(`/pairing/devices/${encodeURIComponent(device.id)}`, { method: "DELETE" });
        await devices(desk, list);
      }))));
}

async function invite(desk, slip, list) {
  try {
    const { code, address, qr, lasts_s } = await desk.ask("/pairing", { method: "POST" });
    refill(slip, make("div", { class: "qr" }, drawn(qr, t("Code to scan"))),
      make("p", null, t("Scan this with the phone's camera, in the same network. Or open")),
      make("p", { class: "address" }, address), make("p", null, t("and type the code")), make("p", { class: "code" }, code),
      make("p", null, t("It holds for {minutes} minutes and for one phone.", { minutes: Math.max(1, Math.round(lasts_s / 60)) })));
    await devices(desk, list);
  } catch (error) {
    refill(slip, make("p", null, error.status === 404 || error.status === 403 || error.status === 409
      ? t("The workbench listens to this machine alone. To take a phone under the dash, start it again with: loomgraft open JOB --lan") : `${error.wrong} ${error.remedy}`));
  }
}

export function openPairing(desk) {
  const slip = make("div", { class: "pairing" }, make("p", null, t("One moment …"))), list = make("ul", { class: "devices" });
  invite(desk, slip, list);
  return lay(t("Take a phone along"), (close) => make("div", null, slip, list,
    make("div", { class: "acts" }, button(t("Close"), () => close(), { autofocus: true }))));
}
