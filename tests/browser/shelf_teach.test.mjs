// Teaching on a page that `slipglass shelf` serves: once where it helps, and once where it cannot.
import test from "node:test";
import assert from "node:assert/strict";
import { cpSync, existsSync, readFileSync, rmSync } from "node:fs";
import path from "node:path";
import { button, goTo, newSeason, serve, settled, upToDate } from "./served.mjs";
import { accessibilityViolations, drawByMouse, launch, openPage, phone, scratch } from "./support.mjs";

test("teaching on the shelf", async (t) => {
  const browser = await launch();
  t.after(() => browser.close());
  const says = (page, words) => page.locator("#teaching .says", { hasText: words }).waitFor({ timeout: 120000 });

  await t.test("learns from strokes on photos under a lamp that the map was not made for, and shows it", async () => {
    const folder = path.join(scratch, "shelf-teach");
    rmSync(folder, { recursive: true, force: true });
    cpSync(path.join(scratch, "to-teach"), folder, { recursive: true });  // season_to_teach.cpp
    const shelf = await serve(folder);
    const page = await openPage(browser, new URL("report/cuttings/T03.html", shelf.address).href, { viewport: phone });
    await upToDate(page);
    assert.match(await page.textContent("#teaching"), /Strokes on 4 photos are kept/);
    const untaught = shelf.file("observations.csv");
    await button(page, "Teach from what was drawn").click();
    await page.locator("#shelf [role=status]", { hasText: /^(Learning from: \d of 5 photos|Looking at what is new)/ }).waitFor();
    await says(page, /^Learnt from \d+ strokes on 4 photos\. Tried on photos left out of the lesson, it is right under /);
    const words = await page.textContent("#teaching .says");
    const [after, before] = [...words.matchAll(/under (\d+) %/g)].map((found) => Number(found[1]));
    assert.ok(after > before, words);
    assert.match(words, /On 1 photo that nobody drew on, roots now cover [\d.]+ % on average; before, [\d.]+ %\. The season is measured with it\.$/);
    await settled(page);
    assert.ok(existsSync(path.join(folder, "taught.json")));
    assert.notEqual(shelf.file("observations.csv"), untaught, "the season is measured with it");
    await upToDate(page);
    await says(page, /^Learnt from \d+ strokes/);
    assert.ok(await button(page, "Undo the teaching").isVisible());
    assert.deepEqual(await accessibilityViolations(page), []);
    assert.deepEqual(page.errors, []);
    await page.context().close();
    await shelf.end();
  });

  await t.test("says why it does not help, and leaves the season as it is", async () => {
    const folder = newSeason("shelf-teach-in-vain", { photos: ["T02_2026-01-12", "T02_2026-01-20"], quick: false });
    const shelf = await serve(folder);
    const page = await openPage(browser, shelf.address);
    await settled(page);
    await goTo(page, new URL("report/cuttings/T02.html", shelf.address).href);
    await upToDate(page);
    // Bare medium, which the map takes for nothing else: there is nothing to learn from it.
    for (const day of ["2026-01-12", "2026-01-20"]) {
      await page.locator(`#strip a:has(time[datetime='${day}'])`).click();
      await page.click("#open-easel");
      await page.check("input[name=tool][value='not root']", { force: true });
      await page.locator("#ink").scrollIntoViewIfNeeded();
      await drawByMouse(page, "#ink", [[0.4, 0.6], [0.45, 0.65], [0.5, 0.7]]);
      await page.click("#save");
      await page.locator("#came", { hasText: "Kept, as " }).waitFor();
      await page.click("#close");
    }
    await settled(page);
    await button(page, "Teach from what was drawn").waitFor();
    await upToDate(page);
    const before = readFileSync(path.join(folder, "observations.csv"), "utf8");
    await button(page, "Teach from what was drawn").click();
    await says(page, /^Nothing was learnt: there is hardly a root on these photos, .*; add photos with roots\.$/);
    await settled(page);
    assert.ok(!existsSync(path.join(folder, "taught.json")));
    assert.equal(shelf.file("observations.csv"), before);
    assert.equal(await button(page, "Undo the teaching").count(), 0);
    assert.deepEqual(page.errors, []);
    await page.context().close();
    await shelf.end();
  });
});
