import test from "node:test";
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { cpSync, mkdirSync, readFileSync, rmSync } from "node:fs";
import path from "node:path";
import { comesTrue, addressOf, drawByMouse, drawByTouch, launch, openPage, phone, scratch, sizes, touch } from "./support.mjs";

const cutting = addressOf("season/report/cuttings/Q9-1.html");
const photo = "T01_2026-02-24";

/// The easel on a cutting's latest photo.
async function openEasel(browser, options) {
  const page = await openPage(browser, cutting, options);
  await page.click("#open-easel");
  await page.locator("#easel").scrollIntoViewIfNeeded();
  return page;
}

const pick = (page, tool) => page.check(`input[name=tool][value="${tool}"]`, { force: true });

/// Saves, and gives what was saved.
async function saved(page) {
  const [file] = await Promise.all([page.waitForEvent("download"), page.click("#save")]);
  assert.equal(file.suggestedFilename(), `${photo}.json`);
  return { correction: JSON.parse(readFileSync(await file.path(), "utf8")), path: await file.path() };
}

/// What `measure --corrections` makes of it: the photo's row of observations.csv, and all problems.
function measured(correctionFile) {
  const out = path.join(scratch, "corrected"), corrections = path.join(scratch, "corrections");
  rmSync(out, { recursive: true, force: true });
  rmSync(corrections, { recursive: true, force: true });
  cpSync(path.join(scratch, "season"), out, { recursive: true });
  mkdirSync(corrections);
  cpSync(correctionFile, path.join(corrections, `${photo}.json`));
  execFileSync(process.env.SLIPGLASS, ["measure", path.join(scratch, "photos"), "--batch", process.env.BATCH,
    "--out", out, "--corrections", corrections]);
  const rows = (file) => readFileSync(path.join(out, file), "utf8").split("\r\n");
  return { row: rows("observations.csv").find((row) => row.startsWith(photo)), problems: rows("problems.csv").join("\n") };
}

test("touching up", async (t) => {
  const browser = await launch();
  t.after(() => browser.close());
  const ways = {
    "by mouse at 1280 px": [{ viewport: sizes["1280 px"] }, drawByMouse],
    "by touch at 390 px": [{ viewport: sizes["390 px"], hasTouch: true, isMobile: true }, drawByTouch],
  };

  for (const [way, [options, drawBy]] of Object.entries(ways))
    await t.test(`ends in a file that measure accepts, drawn ${way}`, async () => {
      const page = await openEasel(browser, options);
      await drawBy(page, "#ink", [[0.4, 0.5], [0.45, 0.6], [0.5, 0.7]]);
      await pick(page, "not root");
      await drawBy(page, "#ink", [[0.55, 0.55], [0.6, 0.6]]);
      assert.match(await page.textContent("#done"), /2 strokes/);
      const { correction, path: file } = await saved(page);
      assert.deepEqual(page.errors, []);
      assert.equal(correction.schema, 1);
      assert.deepEqual(correction.strokes.map((s) => s.kind), ["root", "not root"]);
      // Truth by construction: the photo is 900 x 1200 px, and the stroke ran from 40 % to 50 % of its width.
      // Tolerance: a px of the screen is up to 3 px of the photo.
      const [first, last] = [correction.strokes[0].points[0], correction.strokes[0].points.at(-1)];
      for (const [got, expected] of [[first[0], 360], [first[1], 600], [last[0], 450], [last[1], 840]])
        assert.ok(Math.abs(got - expected) <= 6, `${got} for ${expected}`);
      assert.ok(correction.strokes[0].points.length >= 3);
      const { row, problems } = measured(file);
      assert.match(row, /by hand/);
      assert.doesNotMatch(problems, /json/);
      assert.match(await page.textContent("#next"), /corrections[\s\S]*slipglass measure .* --corrections corrections/);
      await page.context().close();
    });

  await t.test("moves corners and water line by drag and by keyboard, and measure takes them", async () => {
    const page = await openEasel(browser, {});
    await pick(page, "outline");
    await drawByMouse(page, "#ink", [[0.1, 0.2], [0.12, 0.22]]);  // the nearest corner comes: rim, left
    const corner = page.locator(".handle").first();
    const before = Number(await corner.getAttribute("cx"));
    await corner.focus();
    await page.keyboard.press("ArrowLeft");
    assert.ok(Number(await page.locator(".handle").first().getAttribute("cx")) < before);
    await pick(page, "water_line");
    await drawByMouse(page, "#ink", [[0.5, 0.78], [0.5, 0.76]]);
    const { correction, path: file } = await saved(page);
    assert.equal(correction.outline.length, 4);
    assert.ok(Math.abs(correction.outline[0][1] - 0.22 * 1200) <= 4);
    assert.equal(correction.water_line.length, 3);
    const { row, problems } = measured(file);
    assert.match(row, /by hand/);
    assert.doesNotMatch(problems, /json/);
    await page.context().close();
  });

  await t.test("undoes step by step, and saves nothing where nothing is drawn", async () => {
    const page = await openEasel(browser, {});
    await drawByMouse(page, "#ink", [[0.4, 0.5], [0.5, 0.6]]);
    await drawByMouse(page, "#ink", [[0.4, 0.6], [0.5, 0.7]]);
    await page.click("#undo");
    assert.match(await page.textContent("#done"), /1 stroke\./);
    await page.keyboard.press("Control+z");
    assert.match(await page.textContent("#done"), /Nothing drawn/);
    await page.keyboard.press("Control+Shift+z");
    assert.match(await page.textContent("#done"), /1 stroke\./);
    await page.keyboard.press("Control+y");
    assert.match(await page.textContent("#done"), /2 strokes\./);
    assert.ok(await page.isDisabled("#redo"));
    await page.click("#undo");
    await page.click("#redo");
    assert.match(await page.textContent("#done"), /2 strokes\./);
    await page.click("#undo");
    await drawByMouse(page, "#ink", [[0.3, 0.5], [0.3, 0.6]]);
    assert.ok(await page.isDisabled("#redo"), "a new stroke takes the place of those that were undone");
    await page.click("#undo");
    await page.click("#undo");
    assert.ok(await page.isDisabled("#undo"));
    await page.click("#save");
    assert.match(await page.textContent("#done"), /nothing to save/);
    await page.context().close();
  });

  await t.test("does not save crossed corners", async () => {
    const page = await openEasel(browser, {});
    await pick(page, "outline");
    await drawByMouse(page, "#ink", [[0.1, 0.2], [0.95, 0.95]]);
    await page.click("#save");
    assert.match(await page.textContent("#done"), /corners are crossed/);
    await page.context().close();
  });

  await t.test("draws where the pointer is when the photo is seen from closer", async () => {
    const page = await openEasel(browser, {});
    await page.click("#closer");
    await page.click("#closer");
    await page.locator("#easel").scrollIntoViewIfNeeded();
    const easel = await page.locator("#easel").boundingBox();
    const ink = await page.locator("#ink").boundingBox();
    assert.ok(ink.height > easel.height);
    const at = [easel.x + easel.width / 2, easel.y + easel.height / 2];
    await page.mouse.click(...at);
    const { correction } = await saved(page);
    const [x, y] = correction.strokes[0].points[0];
    assert.ok(Math.abs(x - ((at[0] - ink.x) / ink.width) * 900) <= 2);
    assert.ok(Math.abs(y - ((at[1] - ink.y) / ink.height) * 1200) <= 2);
    await page.context().close();
  });

  await t.test("draws with one finger, and with two comes closer and draws nothing", async () => {
    const page = await openEasel(browser, { viewport: phone, hasTouch: true, isMobile: true });
    const width = () => page.locator("#ink").evaluate((ink) => ink.getBoundingClientRect().width);
    const strokes = () => page.locator("#ink-now .stroke").count();
    const first = await width();
    await touch(page, "#ink", [["touchStart", [[0.4, 0.4]]], ["touchMove", [[0.41, 0.41]]], ["touchStart", [[0.41, 0.41], [0.6, 0.6]]],
      ["touchMove", [[0.3, 0.3], [0.7, 0.7]]], ["touchMove", [[0.2, 0.2], [0.8, 0.8]]], ["touchEnd", [[0.2, 0.2]]],
      ["touchMove", [[0.3, 0.5]]], ["touchEnd", []]]);
    assert.equal(await strokes(), 0, "the stroke that had just begun is taken away, and the finger that stays draws none");
    assert.match(await page.textContent("#done"), /Nothing drawn/);
    // Truth by construction: the fingers were 0.19 of each side apart, and are 0.6 of it.
    assert.ok(Math.abs((await width()) / first - 0.6 / 0.19) < 0.15, `${(await width()) / first} times as wide`);
    assert.equal(await page.evaluate(() => visualViewport.scale), 1, "the browser itself does not zoom");

    const scroll = () => page.locator("#easel").evaluate((easel) => [easel.scrollLeft, easel.scrollTop]);
    const [x, y] = await scroll();
    await touch(page, "#easel", [["touchStart", [[0.4, 0.4], [0.6, 0.4]]], ["touchMove", [[0.3, 0.3], [0.5, 0.3]]], ["touchEnd", []]]);
    const [x2, y2] = await scroll();
    const box = await page.locator("#easel").boundingBox();
    assert.ok(Math.abs(x2 - x - 0.1 * box.width) < 4 && Math.abs(y2 - y - 0.1 * box.height) < 4, "two fingers shift the photo");
    assert.equal(await strokes(), 0);

    await drawByTouch(page, "#easel", [[0.4, 0.4], [0.5, 0.5], [0.6, 0.6]]);
    assert.equal(await strokes(), 1);
    assert.deepEqual(await scroll(), [x2, y2], "one finger does not shift it");
    // A stroke that has gone on for long stays when a second finger comes down.
    await touch(page, "#easel", [["touchStart", [[0.3, 0.4]]], ["touchMove", [[0.5, 0.6]]]]);
    await page.waitForTimeout(600);
    await touch(page, "#easel", [["touchStart", [[0.5, 0.6], [0.7, 0.7]]], ["touchEnd", []]]);
    assert.equal(await strokes(), 2);
    assert.deepEqual(page.errors, []);
    await page.context().close();
  });

  await t.test("comes closer at the pointer by wheel with Ctrl", async () => {
    const page = await openEasel(browser, {});
    const place = () => page.locator("#ink").evaluate((ink) => { const b = ink.getBoundingClientRect(); return [b.left, b.top, b.width, b.height]; });
    const before = await place();
    const at = [before[0] + 0.4 * before[2], before[1] + 0.55 * before[3]];
    await page.mouse.move(...at);
    await page.keyboard.down("Control");
    await page.mouse.wheel(0, -300);
    await page.keyboard.up("Control");
    await comesTrue(page, (width) => document.getElementById("ink").getBoundingClientRect().width > 1.5 * width, before[2]);
    const after = await place();
    const easel = await page.locator("#easel").boundingBox();
    // What was under the pointer is there still, unless the photo's edge is in the way.
    if (after[2] > easel.width) assert.ok(Math.abs((at[0] - after[0]) / after[2] - 0.4) < 0.01);
    assert.ok(Math.abs((at[1] - after[1]) / after[3] - 0.55) < 0.01);
    await page.context().close();
  });

  await t.test("asks before what is drawn would be lost", async () => {
    const page = await openEasel(browser, {});
    await drawByMouse(page, "#ink", [[0.4, 0.5], [0.5, 0.6]]);
    await page.click("#close");
    assert.match(await page.textContent("#leave-words"), /1 stroke/);
    await page.click("#leave-stay");
    assert.ok(await page.isVisible("#easel"));
    assert.match(await page.textContent("#done"), /1 stroke\./);

    await page.click("#earlier");
    assert.ok(await page.isVisible("#leave"));
    await page.keyboard.press("Escape");
    assert.match(await page.textContent("#caption"), /24 Feb 2026/, "back at the photo that is drawn on");
    assert.match(await page.textContent("#done"), /1 stroke\./);

    let asked = "";
    page.once("dialog", (dialog) => {
      asked = dialog.type();
      dialog.dismiss();
    });
    await page.evaluate(() => (location.href = "../index.html"));
    await page.waitForTimeout(300);
    assert.equal(asked, "beforeunload");
    assert.ok(await page.isVisible("#easel"));

    await page.click("#earlier");
    await page.click("#leave-drop");
    assert.match(await page.textContent("#easel-day"), /2 Feb 2026/, "the easel goes along");
    assert.match(await page.textContent("#done"), /Nothing drawn/);
    await page.locator("#easel").scrollIntoViewIfNeeded();
    await drawByMouse(page, "#ink", [[0.4, 0.5], [0.5, 0.6]]);
    await page.click("#close");
    const [file] = await Promise.all([page.waitForEvent("download"), page.click("#leave-save")]);
    assert.equal(file.suggestedFilename(), "T01_2026-02-02.json");
    assert.ok(!(await page.isVisible("#easel-box")));
    await page.click("#open-easel");
    await page.click("#close");
    assert.ok(!(await page.isVisible("#easel-box")), "asks nothing where nothing is lost");
    assert.deepEqual(page.errors, []);
    await page.context().close();
  });

  await t.test("shows what was drawn earlier, and adds to it", async () => {
    const page = await openEasel(browser, {});
    assert.ok(!(await page.isVisible("#earlier-drawn")));
    await drawByMouse(page, "#ink", [[0.4, 0.5], [0.45, 0.6], [0.5, 0.7]]);
    await pick(page, "not root");
    await drawByMouse(page, "#ink", [[0.55, 0.55], [0.6, 0.6]]);
    const { correction, path: file } = await saved(page);
    // At once, and in the page that measure makes of it.
    assert.match(await page.textContent("#earlier-drawn"), /2 strokes/);
    assert.equal(await page.locator("#ink-earlier .stroke").count(), 2);
    assert.equal(await page.locator("#ink-now .stroke").count(), 0);
    await drawByMouse(page, "#ink", [[0.3, 0.5], [0.35, 0.6]]);
    assert.equal((await saved(page)).correction.strokes.length, 1, "what is saved already is not saved twice");
    measured(file);
    await page.context().close();
    const later = await openPage(browser, addressOf("corrected/report/cuttings/Q9-1.html"), {});
    await later.click("#open-easel");
    assert.match(await later.textContent("#earlier-drawn"), /2 strokes/);
    const points = await later.locator("#ink-earlier .stroke.root").getAttribute("points");
    const [x, y] = correction.strokes[0].points[0];
    assert.equal(points.split(" ")[0].split(",").map(Number).map((p) => Math.round(p * 10) / 10).join(), [x + 0.5, y + 0.5].map((p) => Math.round(p * 10) / 10).join());
    await later.click("#close");
    await later.click("#earlier");
    await later.click("#open-easel");
    assert.ok(!(await later.isVisible("#earlier-drawn")), "on that photo only");
    assert.deepEqual(later.errors, []);
    await later.context().close();
  });
});
