// What was done to one cutting of a tub that two share, written down on the pages that `slipglass shelf` serves.
import test from "node:test";
import assert from "node:assert/strict";
import { existsSync, writeFileSync } from "node:fs";
import path from "node:path";
import { button, goTo, isLow, isWide, newSeason, onPhone, serve, settled, until, upToDate } from "./served.mjs";
import { accessibilityViolations, laptop, launch, openPage } from "./support.mjs";

test("a tub that two cuttings share", async (t) => {
  const folder = newSeason("shelf-shared", { photos: ["T02_2026-01-12", "T03_2026-01-15"] });
  writeFileSync(path.join(folder, "batch.csv"), "cutting,tub,position\nQ1,T02,left\nQ2,T02,right\nQ3,T03,\n");
  const shelf = await serve(folder);
  const browser = await launch();
  t.after(() => Promise.all([browser.close(), shelf.end()]));
  const page = await openPage(browser, shelf.address, { viewport: laptop });
  await settled(page);
  await goTo(page, new URL("report/cuttings/Q1.html", shelf.address).href);
  await upToDate(page);
  const form = (on) => on.locator("form.care:visible");
  const field = (on, words) => form(on).locator(`label:has-text("${words}") >> select, input`).first();
  const about = (on) => form(on).locator("label", { hasText: "About" });
  const row = (text) => until(async () => existsSync(path.join(shelf.folder, "care.csv")) && shelf.file("care.csv").includes(text), `care.csv says ${text}`, 10);

  for (const [name, options] of Object.entries({ "1280 px": { viewport: laptop }, "390 px": onPhone }))
    await t.test(`can be told apart in the form at ${name}`, async () => {
      const one = await openPage(browser, new URL("report/cuttings/Q1.html", shelf.address).href, options);
      await upToDate(one);
      await button(one, "Write down what you did").click();
      await field(one, "What").selectOption("watered");
      assert.ok(await about(one).isHidden(), "water is the whole tub's");
      await field(one, "What").selectOption("potted-up");
      assert.deepEqual(await about(one).locator("option").allTextContents(), ["the whole tub", "Q1", "Q2"]);
      assert.equal(await about(one).locator("select").inputValue(), "", "the whole tub unless said otherwise");
      assert.deepEqual(await accessibilityViolations(one), []);
      assert.deepEqual(await isLow(one), []);
      assert.ok((await isWide(one)) <= 0);
      assert.deepEqual(one.errors, []);
      await one.context().close();
    });

  await t.test("has a note of one alone, shown, and taken back", async () => {
    await button(page, "Write down what you did").click();
    await field(page, "What").selectOption("noted");
    await about(page).locator("select").selectOption("Q2");
    await form(page).locator("input[type=text]").fill("a new leaf");
    await button(page, "Write it down").click();
    await row(",T02,noted,,a new leaf,Q2");
    await page.locator("text=today: a note, only Q2, a new leaf").waitFor();
    await upToDate(page);
    assert.equal(await page.locator(".done:has-text('a new leaf')").count(), 0, "not on the page of the other");
    await goTo(page, new URL("report/cuttings/Q2.html", shelf.address).href);
    await upToDate(page);
    assert.equal(await page.locator(".done:has-text('a new leaf')").count(), 1);
    await button(page, "Undo").click();
    await until(async () => !shelf.file("care.csv").includes("a new leaf"), "it is taken back", 10);
    await upToDate(page);
  });

  await t.test("has a tick that can be of one alone", async () => {
    await page.evaluate(() => document.querySelector("main").append(Shelf.diary.ofTub("T02", ["ready-to-pot", "standing-water"])));
    const ticks = page.locator(".diary", { has: page.locator("button:text-is('Done: potted up')") });
    const which = ticks.locator(".row > label", { hasText: "About" });
    await which.waitFor();
    await which.locator("select").selectOption("Q1");
    await button(ticks, "Done: tipped out").click();
    await row(",T02,tipped-out,,,\r\n");
    await button(ticks, "Done: potted up").click();
    await row(",T02,potted-up,,,Q1");
    await settled(page);
    const ended = JSON.parse(shelf.file("season.json")).series.map((one) => [one.cutting, Boolean(one.potted_up_on)]);
    assert.deepEqual(ended, [["Q1", true], ["Q2", false], ["Q3", false]]);
  });

  await t.test("is asked of such a tub alone where the tub is chosen", async () => {
    const season = await openPage(browser, shelf.address);
    await upToDate(season);
    await button(season, "Write down for any tub").click();
    await form(season).locator("label:has-text('What') >> select").selectOption("noted");
    const tub = form(season).locator("label:has-text('Tub') >> select").first();
    for (const [which, seen] of [["T02", true], ["T03", false], ["every tub", false]]) {
      await tub.selectOption(which);
      assert.equal(await about(season).isVisible(), seen, which);
    }
    assert.deepEqual([...season.errors, ...page.errors], []);
  });
});
