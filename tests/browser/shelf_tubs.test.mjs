// Which tub a photo shows, said on the pages that `slipglass shelf` serves, whatever told it before.
// Truth: the names of the sample pictures; one is sent under the name of another tub.
import test from "node:test";
import assert from "node:assert/strict";
import { cpSync, existsSync, readdirSync } from "node:fs";
import path from "node:path";
import { button, isLow, isWide, newSeason, onPhone, samples, serve, settled, until, upToDate } from "./served.mjs";
import { accessibilityViolations, laptop, launch, openPage } from "./support.mjs";

test("which tub a photo shows", async (t) => {
  const folder = newSeason("shelf-tubs", { photos: ["T02_2026-01-12", "T02_2026-01-20", "T04_2026-01-15"] });
  cpSync(path.join(samples, "T04_2026-01-22.jpg"), path.join(folder, "photos", "T02_2026-01-22.jpg"));
  cpSync(path.join(samples, "T02_2026-02-03.jpg"), path.join(folder, "photos", "IMG_20260203_101112.jpg"));
  const shelf = await serve(folder);
  const browser = await launch();
  t.after(() => Promise.all([browser.close(), shelf.end()]));
  const names = () => readdirSync(path.join(folder, "photos")).toSorted();
  const cutting = (tub) => new URL(`report/cuttings/${tub}.html`, shelf.address).href;
  const rows = (day) => shelf.file("observations.csv").split("\r\n").filter((row) => row.includes(day)).map((row) => row.split(",").slice(0, 3).join());
  const first = await openPage(browser, shelf.address);
  await settled(first);
  const focusIsKept = (page) => until(() => page.evaluate(() => document.activeElement !== document.body), "the focus is somewhere");

  for (const [name, options] of Object.entries({ "1280 px": { viewport: laptop }, "390 px": onPhone }))
    await t.test(`is asked on its cutting's page at ${name}`, async () => {
      const page = await openPage(browser, cutting("T02"), options);
      await upToDate(page);
      await page.locator("#strip a:has(time[datetime='2026-01-22'])").click();
      await button(page, "This is another tub").click();
      const box = page.locator(".question");
      await box.locator("h3:focus").waitFor();
      assert.ok(!(await box.locator("button").allTextContents()).includes("T02"), "not the one that it is said not to show");
      assert.deepEqual(await accessibilityViolations(page), []);
      assert.deepEqual(await isLow(page), []);
      assert.ok((await isWide(page)) <= 0);
      await button(box, "Close").click();
      await page.locator("button:focus:text-is('This is another tub')").waitFor();
      assert.deepEqual(page.errors, []);
      await page.context().close();
    });

  await t.test("is said on its cutting's page, shown and taken back", async () => {
    const page = await openPage(browser, cutting("T02"), onPhone);
    await upToDate(page);
    await page.locator("#strip a:has(time[datetime='2026-01-22'])").click();
    await button(page, "This is another tub").click();
    await button(page.locator(".question"), "T04").click();
    await until(async () => names().includes("T04_2026-01-22.jpg"), "its name tells it");
    await focusIsKept(page);
    await page.locator("text=T04_2026-01-22.jpg shows T04, as you said.").waitFor();
    await settled(page);
    assert.deepEqual(rows("2026-01-22"), ["T04_2026-01-22.jpg,T04,2026-01-22"]);
    await page.locator("text=T04_2026-01-22.jpg shows T04, as you said.").waitFor();  // after the reload too
    await until(async () => (await page.locator("#strip a").count()) === 3, "its page has it no more", 20);
    await button(page, "Undo").click();
    await until(async () => names().includes("T02_2026-01-22.jpg"), "it is called as before");
    await settled(page);
    assert.deepEqual(rows("2026-01-22"), ["T02_2026-01-22.jpg,T02,2026-01-22"]);
    await until(async () => (await page.locator("#strip a").count()) === 4 && (await page.locator(".which-tub li").count()) === 0, "its page has it again", 20);
    assert.deepEqual(page.errors, []);
    await page.context().close();
  });

  await t.test("is none of this season, and one again", async () => {
    const page = await openPage(browser, cutting("T04"));
    await upToDate(page);
    await button(page, "This is another tub").click();
    await button(page, "No tub of this season").click();
    await until(async () => existsSync(path.join(folder, "photos", "no-tub_2026-01-15.jpg")), "its name tells it");
    // The tub's only photo: its page is gone, and the season's is shown.
    await until(async () => page.url().endsWith("report/index.html"), "the page of a cutting without photos is left", 60);
    await upToDate(page);
    await page.locator("text=no-tub_2026-01-15.jpg shows no tub of this season, as you said.").waitFor();
    assert.deepEqual(rows("2026-01-15"), []);
    await page.context().close();
    await shelf.end();

    const again = await serve(folder);
    const other = await openPage(browser, again.address);
    await upToDate(other);
    assert.equal(await other.locator(".question").count(), 0, "it is not asked about");
    await button(other.locator("li:has-text('shows no tub of this season, as its name says')"), "It does").click();
    await other.locator(".question input").fill("T04");
    await button(other, "It is new").click();
    await until(async () => names().includes("T04_2026-01-15.jpg"), "it shows a tub");
    await upToDate(other);
    assert.equal(await other.locator(".card h3 a:text-is('T04')").count(), 1);
    assert.deepEqual(other.errors, []);

    // Known by its grains, which were wrong.
    const address = new URL("report/cuttings/T02.html", again.address).href;
    const grains = await openPage(browser, address);
    await upToDate(grains);
    await grains.locator("#strip a:has(time[datetime='2026-02-03'])").click();
    await button(grains, "This is another tub").click();
    await grains.locator(".question input").fill("T09");
    await grains.locator(".question input").press("Enter");
    await until(async () => names().includes("T09_2026-02-03_IMG_20260203_101112.jpg"), "a new tub");
    await settled(grains);
    assert.ok(existsSync(path.join(folder, "report/cuttings/T09.html")));
    assert.deepEqual(grains.errors, []);
    await again.end();
  });
});
