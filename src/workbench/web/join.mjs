// The phone joins: the code that the computer shows, and a name to know the phone by.
import { ask } from "./ask.mjs";
import { t } from "./words.mjs";

const code = document.getElementById("code"), name = document.getElementById("name"), wrong = document.getElementById("wrong");
const scanned = /^#([\w-]{4,12})$/.exec(location.hash);
if (scanned) { code.value = scanned[1]; history.replaceState(null, "", location.pathname); }
try { name.value = localStorage.getItem("loomgraft device") ?? t("phone"); } catch { name.value = t("phone"); }
(scanned ? name : code).focus();

document.getElementById("join").addEventListener("submit", async (event) => {
  event.preventDefault();
  wrong.textContent = "";
  try {
    const { go } = await ask("/join", { method: "POST", body: { code: code.value.replace(/\s/g, ""), name: name.value.trim() } });
    try { localStorage.setItem("loomgraft device", name.value.trim()); } catch { /* asked again next time */ }
    location.assign(go === "/phone" ? go : "/phone");
  } catch (error) {
    wrong.textContent = `${error.wrong} ${error.remedy}`;
    code.select();
  }
});
