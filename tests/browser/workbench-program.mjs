// A program of one's own: an example copied into a folder of its own, and `loomgraft open` on it. The program is named in LG_PROGRAM.
import { spawn } from "node:child_process";
import { copyFileSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, join } from "node:path";
import { fileURLToPath } from "node:url";

const examples = fileURLToPath(new URL("../../examples/", import.meta.url));

/** Starts the program on a copy of an example, on `text`, or (`fresh`) on a sheet that is not there yet. `{ file, folder, address, program, text(), write(text), end() }` */
export async function openProgram(example, { text, fresh = false, args = [] } = {}) {
  const folder = mkdtempSync(join(tmpdir(), "workbench-"));
  const file = join(folder, `${basename(example, ".job")}.job`);
  if (fresh) { /* the program begins it */ } else if (text === undefined) copyFileSync(join(examples, `${example}.job`), file);
  else writeFileSync(file, text);
  const program = spawn(process.env.LG_PROGRAM, ["open", file, ...args], { stdio: ["ignore", "pipe", "pipe"] });
  const address = await new Promise((settle, fail) => {
    let said = "", complained = "";
    program.stderr.on("data", (bytes) => { complained += bytes; });
    program.stdout.on("data", (bytes) => { said += bytes; const found = /http:\/\/\S+\/key\/\S+/.exec(said); if (found) settle(found[0]); });
    program.on("exit", (code) => fail(new Error(`the program ended with ${code}: ${complained}`)));
  });
  return {
    file, folder, address, program,
    text: () => readFileSync(file, "utf8"),
    write: (words) => writeFileSync(file, words),
    async end() {
      const gone = new Promise((settle) => program.once("exit", settle));
      program.kill("SIGTERM");
      if (program.exitCode === null && program.signalCode === null) await gone;
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
