// Touching up on a page that `slipglass shelf` serves: kept at once, measured at once, told, taught.
import test from "node:test";
import assert from "node:assert/strict";
import { cpSync, existsSync, readFileSync, readdirSync, writeFileSync } from "node:fs";
import path from "node:path";
import { newSeason, serve } from "./served.mjs";
import { accessibilityViolations, drawByMouse, launch, openPage, phone } from "./support.mjs";

const season = newSeason("shelf-touch-up", { photos: ["T02_2026-02-11", "T02_2026-02-18", "T02_2026-02-26"], quick: false });
const kept = (file) => JSON.parse(readFileSync(path.join(season, "corrections", file), "utf8"));

/// When all is measured, without a page.
const settled = async (address, { round = 0 } = {}) => {
  for (let tries = 0; tries < 900; ++tries) {
    const state = await (await fetch(`${address}state`)).json();
    if (!state.busy && state.round > round) return state;
    await new Promise((later) => setTimeout(later, 200));
  }
  throw new Error("never ends");
};

test("touching up on the shelf", async (t) => {
  cpSync(process.env.BATCH, path.join(season, "batch.csv"));
  let shelf = await serve(season);
  const browser = await launch();
  t.after(async () => {
    await browser.close();
    await shelf.end();
  });
  await settled(shelf.address);
  const cutting = () => `${shelf.address}report/cuttings/QD-1.html`;
  const shows = (page, selector, hasText) => page.locator(selector, { hasText }).waitFor({ timeout: 90000 });
  const came = (page, words) => shows(page, "#came", words);

  await t.test("keeps at once, measures, and tells what came of it in the same place", async () => {
    const page = await openPage(browser, cutting(), {});
    await page.waitForSelector("#came", { state: "attached" });
    await page.click("#earlier");
    await page.click("#open-easel");
    await page.click("#closer");
    await drawByMouse(page, "#easel", [[0.4, 0.3], [0.45, 0.5], [0.5, 0.7]]);
    await drawByMouse(page, "#easel", [[0.55, 0.3], [0.55, 0.5], [0.5, 0.7]]);
    const width = await page.locator("#ink").evaluate((ink) => ink.getBoundingClientRect().width);
    const before = await page.evaluate(() => viewer.photo().figures);
    const layer = await page.locator("#easel-layer").getAttribute("src");
    await page.click("#save");
    await came(page, /Kept, as T02_2026-02-18\.json/);
    const correction = kept("T02_2026-02-18.json");
    assert.equal(correction.strokes.length, 2);
    assert.equal(correction.photo, "T02_2026-02-18.jpg");
    assert.match(await page.textContent("#earlier-drawn"), /2 strokes/);
    // Another stroke while it is measured is not lost.
    await page.locator("#easel").scrollIntoViewIfNeeded();
    await drawByMouse(page, "#easel", [[0.6, 0.3], [0.65, 0.5]]);
    await came(page, /Measured again, the photo of 18 Feb/);
    const now = await page.evaluate(() => viewer.photo().figures);
    assert.notEqual(now["roots cover"], before["roots cover"]);
    assert.ok((await page.textContent("#came")).includes(`roots cover ${before["roots cover"]} before, ${now["roots cover"]} now`));
    assert.match(await page.textContent("#came"), /length .* before, .* now; water /);
    assert.match(await page.textContent("#done"), /Not saved yet: 1 stroke\./);
    assert.equal(await page.locator("#ink").evaluate((ink) => ink.getBoundingClientRect().width), width);
    assert.notEqual(await page.locator("#easel-layer").getAttribute("src"), layer);
    assert.deepEqual(await accessibilityViolations(page), []);

    // Closed, the page is loaded anew, at the same photo, and says it still.
    await page.click("#close");
    await Promise.all([page.waitForEvent("load", { timeout: 90000 }), page.click("#leave-drop")]);
    await came(page, /Measured again, the photo of 18 Feb/);
    assert.match(await page.textContent("#caption"), /18 Feb 2026/);
    await page.click("#open-easel");
    assert.match(await page.textContent("#earlier-drawn"), /2 strokes/);
    assert.deepEqual(page.errors, []);
    await page.context().close();
  });

  await t.test("offers to teach from two photos on, tells the result, and undoes it", async () => {
    const page = await openPage(browser, cutting(), { viewport: phone });
    await page.waitForSelector("#came", { state: "attached" });
    assert.ok(!(await page.isVisible("#teaching button")), "strokes on one photo are too few");
    await page.click("#open-easel");
    await drawByMouse(page, "#ink", [[0.4, 0.6], [0.45, 0.7]]);
    await page.click("#save");
    await page.waitForSelector("text=Teach from what was drawn", { timeout: 90000 });
    const { round } = await settled(shelf.address);
    await page.click("text=Teach from what was drawn");
    const state = await settled(shelf.address, { round });
    assert.match(state.teach.says, /^(Learnt from 3 strokes on 2 photos|Nothing was learnt: )/);
    assert.equal(state.teach.taught, existsSync(path.join(season, "taught.json")));
    await shows(page, "#teaching", state.teach.says);
    // Whether there is something to learn from these strokes is not asked here; a lesson is there to be taken back.
    if (!state.teach.taught) writeFileSync(path.join(season, "taught.json"), "{}");
    await page.waitForSelector("text=Undo the teaching", { timeout: 20000 });
    await page.click("text=Undo the teaching");
    const after = await settled(shelf.address, { round: state.round });
    assert.ok(!after.teach.taught && !existsSync(path.join(season, "taught.json")));
    assert.match(after.teach.says, /undone/);
    assert.deepEqual(page.errors, []);
    await page.context().close();
  });

  await t.test("takes back what was saved, the last or all, having asked", async () => {
    const page = await openPage(browser, cutting(), { viewport: phone });
    await page.waitForSelector("#came", { state: "attached" });
    await page.click("#earlier");
    await page.click("#open-easel");
    await drawByMouse(page, "#ink", [[0.4, 0.6], [0.45, 0.7]]);
    await page.click("#save");
    await came(page, /Kept, as T02_2026-02-18 \(2\)\.json/);
    await page.locator("#ink").scrollIntoViewIfNeeded();
    await drawByMouse(page, "#ink", [[0.5, 0.6], [0.55, 0.7]]);  // not saved
    const earlier = () => page.locator("#ink-earlier .stroke").count();
    const files = () => readdirSync(path.join(season, "corrections")).filter((name) => name.startsWith("T02_2026-02-18")).toSorted();
    const press = (words) => page.click(`#easel-box button:text-is("${words}")`);
    await press("Take back what was saved last");
    await shows(page, "#take-back-words", "Saved last on the photo of 18 Feb 2026: 1 stroke. Take that back?");
    assert.deepEqual(await accessibilityViolations(page), []);
    await press("Keep it");
    assert.equal(await earlier(), 3);
    await press("Take back what was saved last");
    await press("Take it back");
    await came(page, /Taken back\. The photo of 18 Feb 2026 is measured again without it/);
    assert.equal(await earlier(), 2);
    await press("Start again from the picture");
    await shows(page, "#take-back-words", "Saved on the photo of 18 Feb 2026: 2 strokes. Take all of it back, and start again from the picture?");
    await page.keyboard.press("Escape");
    assert.equal(await earlier(), 2);
    await press("Start again from the picture");
    await press("Take it back");
    await came(page, /Measured again, the photo of 18 Feb/);
    await settled(shelf.address);
    assert.equal(await earlier(), 0);
    assert.ok(await page.isHidden("#earlier-drawn"));
    assert.ok(await page.isHidden("text=Start again from the picture"));
    assert.equal(await page.locator("#ink-now .stroke").count(), 1, "what is being drawn stays");
    assert.deepEqual(files(), ["T02_2026-02-18 (2).json.taken-back", "T02_2026-02-18.json.taken-back"]);
    const drawnOn = await page.evaluate(async () => JSON.parse(new DOMParser().parseFromString(await (await fetch(location.pathname)).text(), "text/html").getElementById("data").textContent).photos.map((one) => one.drawn !== null));
    assert.deepEqual(drawnOn, [false, false, true], "the other photo keeps its own");
    assert.deepEqual(page.errors, []);
    await page.context().close();
  });

  await t.test("says when the computer does not answer, and loses nothing", async () => {
    const page = await openPage(browser, cutting(), {});
    await page.waitForSelector("#came", { state: "attached" });
    await page.click("#open-easel");
    await drawByMouse(page, "#ink", [[0.4, 0.6], [0.45, 0.7]]);
    const files = readdirSync(path.join(season, "corrections")).length;
    await shelf.end();
    await page.click("#save");
    await shows(page, "#done", /does not answer/);
    assert.equal(await page.locator("#ink-now .stroke").count(), 1);
    assert.ok(await page.isEnabled("#save"));
    assert.equal(readdirSync(path.join(season, "corrections")).length, files);
    await page.context().close();
    shelf = await serve(season);
  });
});
