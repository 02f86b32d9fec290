import test from "node:test";
import assert from "node:assert/strict";
import { accessibilityViolations, addressOf, comesTrue, launch, openPage, sizes } from "./support.mjs";

const season = addressOf("season/report/index.html");
const cutting = addressOf("season/report/cuttings/MG-1.html");
const benchSheet = addressOf("season/report/bench-sheet.html");
const oneFile = addressOf("season.html");
const everyPage = [season, cutting, benchSheet, oneFile];
const loaded = (page, id) => comesTrue(page, (name) => document.getElementById(name).naturalWidth > 100, id);
const look = (page, view) => page.check(`[name=view][value=${view}]`, { force: true });
const shownCards = (page) => page.locator(".card:visible h3").allTextContents();

test("pages", async (t) => {
  const browser = await launch();
  t.after(() => browser.close());

  for (const [name, viewport] of Object.entries(sizes)) {
    await t.test(`open without a word of complaint, and fit, at ${name}`, async () => {
      for (const address of everyPage) {
        const page = await openPage(browser, address, { viewport });
        await page.waitForLoadState("networkidle");
        assert.deepEqual(page.errors, []);
        const [wide, seen] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
        assert.ok(wide <= seen, `${wide} px of page on ${seen} px`);
        await page.context().close();
      }
    });

    for (const colorScheme of ["light", "dark"])
      await t.test(`have no accessibility violation at ${name}, ${colorScheme}`, async () => {
        for (const address of everyPage) {
          const page = await openPage(browser, address, { viewport, colorScheme });
          await page.evaluate(() => document.querySelectorAll("details").forEach((d) => (d.open = true)));
          if (address === cutting) {
            await page.click("#open-easel");
            await page.check("input[value=outline]", { force: true });
            await look(page, "growth");
            await page.click("#zoom");
          }
          assert.deepEqual(await accessibilityViolations(page), []);
          await page.context().close();
        }
      });
  }

  await t.test("ask for files only, and cannot reach a network if they tried", async () => {
    for (const address of everyPage) {
      const page = await openPage(browser, address);
      await page.waitForLoadState("networkidle");
      for (const asked of page.asked) assert.match(asked, /^(file|data|blob):/);
      const blocked = await page.evaluate(async () => {
        const told = new Promise((resolve) =>
          document.addEventListener("securitypolicyviolation", (e) => resolve(e.effectiveDirective), { once: true }));
        await fetch("https://network.invalid/").catch(() => {});
        return Promise.race([told, new Promise((resolve) => setTimeout(() => resolve("nothing"), 2000))]);
      });
      assert.equal(blocked, "connect-src");
      await page.context().close();
    }
  });

  await t.test("show what needs doing first, most urgent first", async () => {
    const page = await openPage(browser, season, { viewport: sizes["390 px"] });
    const first = page.locator(".doing > li").first();
    assert.match(await first.textContent(), /T03[\s\S]*Tip the water out/);
    const box = await first.boundingBox();
    assert.ok(box.y < 500, `first thing to do is ${box.y} px down on a phone`);
    const second = await page.locator(".doing > li").nth(1).boundingBox();
    const fold = second.y + second.height - box.y;
    assert.ok(fold <= sizes["390 px"].height, `two cards take ${fold} px`);
    await page.context().close();
  });

  await t.test("say how old the newest photo is on the day they are opened", async () => {
    for (const [day, says, isOld, due] of [["2026-03-04", "today", false, "11 Mar"], ["2026-03-05", "yesterday", false, "11 Mar"],
      ["2026-03-14", "10 days ago", false, "now"], ["2026-03-15", "11 days ago", true, "now"]]) {
      const page = await openPage(browser, season, { now: `${day}T09:00:00` });
      assert.match(await page.textContent(".newest"), new RegExp(`4 Mar 2026, ${says}\\.`));
      assert.equal(await page.locator(".newest.old").count() > 0, isOld, day);
      assert.equal(await page.textContent("[data-due]"), due, day);
      await page.context().close();
    }
    const without = await openPage(browser, season, { javaScriptEnabled: false });
    assert.match(await without.textContent(".newest"), /Newest photo: 4 Mar 2026\./);
    assert.equal(await without.textContent("[data-due]"), "11 Mar");
    await without.context().close();
  });

  await t.test("show a cutting's photo first on a phone, then figures, then the graph", async () => {
    const page = await openPage(browser, cutting, { viewport: sizes["390 px"] });
    const top = async (selector) => (await page.locator(selector).boundingBox()).y;
    assert.ok((await top("#photo")) < 500, `photo at ${await top("#photo")} px`);
    assert.ok((await top("#chart")) < 2600, `graph at ${await top("#chart")} px`);
    assert.ok((await top("#photo")) < (await top(".facts")) && (await top(".facts")) < (await top("#chart")));
    await page.context().close();
  });

  await t.test("have letters of 11 px or more on a phone's graphs, and the values beside them", async () => {
    for (const [address, selector] of [[season, ".glimpse .chart"], [cutting, "#chart"]]) {
      const page = await openPage(browser, address, { viewport: sizes["390 px"] });
      const letters = await page.locator(`${selector} text`).evaluateAll((all) => all.map((text) =>
        parseFloat(getComputedStyle(text).fontSize) * text.ownerSVGElement.clientWidth / text.ownerSVGElement.viewBox.baseVal.width));
      assert.ok(letters.length > 5);
      assert.ok(Math.min(...letters) >= 11, `${Math.min(...letters)} px`);
      await page.context().close();
    }
    for (const viewport of Object.values(sizes)) {
      const page = await openPage(browser, cutting, { viewport });
      const [chart, values] = [await page.locator("#chart").boundingBox(), await page.locator("#values").boundingBox()];
      assert.ok(values.y >= chart.y + chart.height || values.x >= chart.x + chart.width);
      await page.context().close();
    }
  });

  await t.test("need no scrolling sideways in a table on a phone", async () => {
    const page = await openPage(browser, cutting, { viewport: sizes["390 px"] });
    const [wide, seen] = await page.locator("#figures .wide").evaluate((box) => [box.scrollWidth, box.clientWidth]);
    assert.ok(wide <= seen, `${wide} px in ${seen} px`);
    assert.match(await page.locator("#figures tbody tr").last().innerText(), /4 Mar 2026/);
    await page.context().close();
  });

  await t.test("filter and order the cards", async () => {
    const page = await openPage(browser, season);
    const all = await shownCards(page);
    assert.equal(all.length, 6);
    await page.selectOption("[data-by=variety]", "Mulberry Top Gate");
    assert.deepEqual(await shownCards(page), ["MG-1", "MG-2"]);
    assert.equal(await page.textContent("#shown"), "2 of 6 shown");
    await page.fill("#find", "gutter");
    assert.deepEqual(await shownCards(page), ["MG-1"]);
    await page.fill("#find", "nothing is called so");
    assert.ok(await page.isVisible("#none"));
    await page.fill("#find", "");
    await page.selectOption("[data-by=variety]", "");
    await page.selectOption("#order", "-coverage");
    assert.deepEqual((await shownCards(page)).slice(0, 2), ["Q9-1", "MG-1"]);  // most root on the sample pictures
    await page.selectOption("#order", "place");
    assert.deepEqual(await shownCards(page), all);
    await page.context().close();
  });

  await t.test("can be filtered by keyboard alone", async () => {
    const page = await openPage(browser, season);
    await page.focus("#find");
    await page.keyboard.type("Q9-1");
    assert.deepEqual(await shownCards(page), ["Q9-1"]);
    await page.locator(".card:visible a").focus();
    await page.keyboard.press("Enter");
    await page.waitForURL(/Q9-1\.html$/);
    await page.context().close();
  });

  await t.test("turn through the photos by slider, by button and by thumbnail", async () => {
    const page = await openPage(browser, cutting);
    const shown = () => page.getAttribute("#photo", "src");
    assert.match(await shown(), /2026-03-04\.jpg$/);
    await page.focus("#when");
    await page.keyboard.press("Home");
    assert.match(await shown(), /2026-01-15\.jpg$/);
    assert.match(await page.textContent("#caption"), /15 Jan 2026: day 0/);
    await page.click("#later");
    assert.match(await shown(), /2026-02-12\.jpg$/);
    await page.locator("#strip a").nth(2).click();
    assert.match(await shown(), /2026-03-04\.jpg$/);
    assert.equal(await page.locator("#strip [aria-current]").count(), 1);
    await page.context().close();
  });

  for (const [name, viewport] of Object.entries(sizes))
    await t.test(`show pictures in their own proportions, layers exactly over them, at ${name}`, async () => {
      const page = await openPage(browser, cutting, { viewport });
      await page.click("#open-easel");
      await page.waitForLoadState("networkidle");
      const shapeOf = (id) => page.evaluate((name) => {
        const image = document.getElementById(name);
        return image.clientWidth / image.clientHeight / (image.naturalWidth / image.naturalHeight);
      }, id);
      const shapes = [await shapeOf("photo"), await shapeOf("found"), await shapeOf("easel-photo")];
      await look(page, "growth");
      await loaded(page, "wall");
      await loaded(page, "growth");
      shapes.push(await shapeOf("wall"));
      const [wall, growth] = [await page.locator("#wall").boundingBox(), await page.locator("#growth").boundingBox()];
      for (const side of ["x", "y", "width", "height"]) assert.ok(Math.abs(wall[side] - growth[side]) < 1.5, side);
      await look(page, "found");
      for (const shape of shapes) assert.ok(Math.abs(shape - 1) < 0.01, `${shapes}`);
      for (const [below, above] of [["#photo", "#found"], ["#easel-photo", "#easel-layer"], ["#easel-photo", "#ink"]]) {
        const boxes = [await page.locator(below).boundingBox(), await page.locator(above).boundingBox()];
        for (const side of ["x", "y", "width", "height"])
          assert.ok(Math.abs(boxes[0][side] - boxes[1][side]) < 1, `${above} over ${below}: ${side}`);
      }
      await page.context().close();
    });

  await t.test("show photo, roots found, wall or growth map by one switch", async () => {
    const page = await openPage(browser, cutting);
    const seen = async () => {
      const shown = [];
      for (const id of ["photo", "found", "wall", "growth", "growth-legend"])
        if (await page.isVisible(`#${id}`)) shown.push(id);
      return shown.join(" ");
    };
    assert.equal(await seen(), "photo found");
    await look(page, "photo");
    assert.equal(await seen(), "photo");
    await look(page, "wall");
    await loaded(page, "wall");
    assert.equal(await seen(), "wall");
    await look(page, "growth");
    await loaded(page, "growth");
    assert.equal(await seen(), "wall growth growth-legend");
    assert.equal(await page.locator("#growth-legend li").count(), 3);
    await page.context().close();
  });

  await t.test("show a picture closer, where it was pointed at", async () => {
    const page = await openPage(browser, cutting, { viewport: sizes["390 px"] });
    const wide = () => page.locator("#lens").evaluate((lens) => lens.scrollWidth / lens.clientWidth);
    assert.ok(Math.abs((await wide()) - 1) < 0.01);
    await page.click("#zoom");
    assert.ok((await wide()) > 2);
    await page.click("#zoom");
    assert.ok(Math.abs((await wide()) - 1) < 0.01);
    const box = await page.locator("#photo").boundingBox();
    await page.mouse.dblclick(box.x + 0.9 * box.width, box.y + 0.9 * box.height);
    const scrolled = await page.locator("#lens").evaluate((lens) => lens.scrollLeft / (lens.scrollWidth - lens.clientWidth));
    assert.ok(scrolled > 0.9, `${scrolled}`);
    await page.context().close();
  });

  await t.test("lead from card to cutting inside the one file, which asks for nothing else", async () => {
    const page = await openPage(browser, oneFile);
    await page.locator(".card a").first().click();
    assert.match(page.url(), /#cutting-1$/);
    await page.locator("#cutting-1 .still-photo").first().scrollIntoViewIfNeeded();
    await comesTrue(page, () => document.querySelector("#cutting-1 .still-photo").naturalWidth > 100);
    assert.deepEqual(page.asked.filter((a) => a.startsWith("file:")), [oneFile]);
    await page.context().close();
  });

  await t.test("give the graph's values under the pointer and by arrow keys", async () => {
    const page = await openPage(browser, cutting);
    await page.hover("#chart", { position: { x: 300, y: 100 } });
    assert.match(await page.textContent("#values"), /2026[\s\S]*Roots cover \d+\.\d %/);
    await page.focus("#chart");
    await page.keyboard.press("Home");
    assert.match(await page.textContent("#values"), /15 Jan 2026/);
    await page.keyboard.press("ArrowRight");
    assert.match(await page.textContent("#values"), /12 Feb 2026/);
    await page.context().close();
  });

  for (const [button, name, start] of [["#save-svg", "MG-1.svg", "<svg"], ["#save-png", "MG-1.png", "\x89PNG"]])
    await t.test(`save the graph as ${name}`, async () => {
      const page = await openPage(browser, cutting);
      const [file] = await Promise.all([page.waitForEvent("download"), page.click(button)]);
      assert.equal(file.suggestedFilename(), name);
      const bytes = await (await import("node:fs/promises")).readFile(await file.path());
      assert.equal(bytes.subarray(0, start.length).toString("latin1"), start);
      assert.ok(bytes.length > 10000, `${bytes.length} bytes`);
      assert.deepEqual(page.errors, []);
      await page.context().close();
    });

  await t.test("show every cutting and every figure without scripts", async () => {
    const page = await openPage(browser, season, { javaScriptEnabled: false });
    assert.equal(await page.locator(".card").count(), 6);
    assert.ok(await page.isHidden("#chooser"));
    await page.goto(cutting);
    assert.ok(await page.isVisible("#found"));
    assert.equal(await page.locator("#figures tbody tr").count(), 3);
    assert.ok(await page.isHidden("#touch-up"));
    await page.context().close();
  });
});
