// Asks the program on this machine. Answers are JSON; what goes wrong is an Error that says so in words.
import { t } from "./words.mjs";

function trouble(status, answer) {
  const error = new Error(answer?.wrong ?? t("The program answered with {status}.", { status }));
  return Object.assign(error, { wrong: error.message, remedy: answer?.remedy ?? "", status, answer });
}

async function fetchAnswer(path, { method = "GET", body, signal } = {}) {
  const changes = method !== "GET";
  try {
    return await fetch(path, {
      method, signal, cache: "no-store", credentials: "same-origin", redirect: "error",
      headers: changes ? { "Content-Type": "application/json", "X-Loomgraft": "1" } : {},
      body: changes ? JSON.stringify(body ?? {}) : undefined,
    });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw trouble(0, { wrong: t("The program does not answer."), remedy: t("Is it still running? Start it again with: loomgraft open") });
  }
}

/** Fetches JSON. Throws an Error with .wrong, .remedy, .status and .answer. */
export async function ask(path, options) {
  const reply = await fetchAnswer(path, options);
  const words = await reply.text();
  let answer = null;
  try { answer = words === "" ? {} : JSON.parse(words); } catch { /* said below */ }
  if (!reply.ok) throw trouble(reply.status, answer);
  if (answer === null) throw trouble(reply.status, { wrong: t("The answer could not be read.") });
  return answer;
}

/** Fetches text, such as a drawing. */
export async function askText(path, options) {
  const reply = await fetchAnswer(path, options);
  const words = await reply.text();
  if (reply.ok) return words;
  let answer = null;
  try { answer = JSON.parse(words); } catch { /* no words of its own */ }
  throw trouble(reply.status, answer);
}
