// A season's folder, `slipglass shelf` on it, and pages that follow what it measures.
import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { cpSync, mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import path from "node:path";
import { after } from "node:test";
import { phone, scratch } from "./support.mjs";

export const samples = path.join(path.dirname(process.env.BATCH), "photos");
export const onPhone = { viewport: phone, hasTouch: true, isMobile: true };

/// An empty season's folder in the scratch folder. @param photos  of the samples, already in it.
/// @param quick  read by rules, which are quicker than the network.
export function newSeason(name, { photos = [], quick = true } = {}) {
  const folder = path.join(scratch, name);
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(path.join(folder, "photos"), { recursive: true });
  if (quick) writeFileSync(path.join(folder, "settings.json"), '{"roots": {"learned": false}}');
  for (const photo of photos) cpSync(path.join(samples, `${photo}.jpg`), path.join(folder, "photos", `${photo}.jpg`));
  return folder;
}

// A test that fails does not come to its end of them, and the file's would then be waited for.
const programs = new Set();
after(() => programs.forEach((program) => program.kill("SIGKILL")));

/// The program that serves it.
export async function serve(folder, ...more) {
  const program = spawn(process.env.SLIPGLASS, ["shelf", folder, "--no-browser", ...more], { stdio: ["ignore", "pipe", "inherit"] });
  programs.add(program);
  const ended = new Promise((resolve) => program.on("exit", resolve));
  ended.then(() => programs.delete(program));
  let said = "";
  const address = await new Promise((resolve, reject) => {
    program.stdout.on("data", (bytes) => {
      said += bytes;
      const found = said.match(/is on (http:\S+)/);
      if (found) resolve(found[1]);
    });
    ended.then(() => reject(new Error(`it ended: ${said}`)));
  });
  const end = async () => { program.kill("SIGINT"); return ended; };
  return { folder, address, end, file: (one) => readFileSync(path.join(folder, one), "utf8") };
}

// Pages allow no eval, so that Playwright's waitForFunction cannot be used on them.
export async function until(what, why, seconds = 60) {  // a page may just be loading itself anew
  for (const end = Date.now() + seconds * 1000; Date.now() < end; await new Promise((r) => setTimeout(r, 150)))
    if (await what().catch((error) => /destroyed|navigation/.test(error.message) ? false : Promise.reject(error))) return;
  assert.fail(why);
}
export const stateOf = async (page) => page.evaluate(async () => (await fetch(Shelf.url("state"))).json());
export const settled = (page) => until(async () => !(await stateOf(page).catch(() => ({ busy: true }))).busy, "measuring never ends", 120);
/// A page that has shown all results, and so will not load itself anew.
export const upToDate = async (page) => {
  await settled(page);
  await page.reload().catch(() => page.waitForLoadState());  // it may just be doing so itself
  await page.locator("#shelf").waitFor({ state: "attached" });
  await settled(page);
};
/// It may just be loading itself anew.
export const goTo = (page, address) => page.goto(address).catch(() => page.goto(address));
export const button = (page, words) => page.locator(`button:text-is("${words}"):visible`).first();
export const isLow = async (page) => page.evaluate(() => [...document.querySelectorAll("#shelf button, #shelf label.send, .diary button, .diary select, .diary input, form button, .rows input, .which-tub button, .which-tub input, .which-tub select")]
  .filter((one) => one.checkVisibility()).map((one) => [one.textContent || one.getAttribute("aria-label"), one.getBoundingClientRect().height]).filter(([, height]) => height < 44));
export const isWide = (page) => page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
