import test from "node:test";
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { cpSync, mkdirSync, readFileSync, rmSync } from "node:fs";
import path from "node:path";
import { addressOf, drawByMouse, drawByTouch, launch, openPage, scratch, sizes } from "./support.mjs";

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
});
