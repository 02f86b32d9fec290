// A season served by `slipglass shelf`, used as a grower would: from an empty folder to ticks, plan and labels.
// Truth: the names of the sample pictures say which tub each shows; some are sent under a phone's names.
import test from "node:test";
import assert from "node:assert/strict";
import { existsSync, readFileSync, readdirSync } from "node:fs";
import { networkInterfaces } from "node:os";
import path from "node:path";
import { button, isLow, isWide, newSeason, onPhone, samples, serve, settled, stateOf, until, upToDate } from "./served.mjs";
import { accessibilityViolations, laptop, launch, openPage } from "./support.mjs";

const photo = (sample, name = sample) => ({ name: `${name}.jpg`, mimeType: "image/jpeg", buffer: readFileSync(path.join(samples, `${sample}.jpg`)) });
const chosen = [photo("T01_2026-01-12"), photo("T01_2026-02-02"), photo("T01_2026-02-24"), photo("T02_2026-01-12"),
  photo("T03_2026-01-15"), photo("T03_2026-02-12"), photo("T03_2026-03-04")];
const dropped = [photo("T02_2026-01-20", "IMG_20260120_093010"), photo("T02_2026-02-03", "PXL_20260203_101112"),
  photo("T04_2026-01-15", "IMG_20260115_080000"), photo("T04_2026-01-30", "IMG_20260130_080000"),
  photo("T05_2026-01-20", 'T05_2026-01-20 Möhre "x" 🌱')];

const drop = async (page, files) => {
  const sent = files.map(({ name, mimeType, buffer, size }) => ({ name, mimeType, size, base64: buffer?.toString("base64") }));
  await page.evaluate((all) => {
    const data = new DataTransfer();
    for (const { name, mimeType, size, base64 } of all)
      data.items.add(new File([base64 === undefined ? new Uint8Array(size) : Uint8Array.from(atob(base64), (c) => c.charCodeAt(0))], name, { type: mimeType }));
    for (const type of ["dragenter", "dragover", "drop"]) document.body.dispatchEvent(new DragEvent(type, { dataTransfer: data, bubbles: true, cancelable: true }));
  }, sent);
};
test("shelf", async (t) => {
  const browser = await launch();
  const shelf = await serve(newSeason("shelf"));
  t.after(() => Promise.all([browser.close(), shelf.end()]));
  const big = await openPage(browser, shelf.address, { viewport: laptop });
  const small = await openPage(browser, shelf.address, onPhone);
  const both = { "1280 px": big, "390 px": small };
  const sound = async () => {
    for (const [name, page] of Object.entries(both)) {
      assert.deepEqual(await accessibilityViolations(page), [], name);
      assert.deepEqual(await isLow(page), [], `under 44 px high at ${name}`);
      assert.ok((await isWide(page)) <= 0, `${name} scrolls sideways`);
      assert.deepEqual(page.errors, [], name);
    }
  };

  await t.test("invites to add photos", async () => {
    await settled(big);
    for (const page of Object.values(both)) {
      await page.locator("h2:text-is('The first photos')").waitFor();
      assert.ok(await page.locator("label.send:has-text('Add photos')").isVisible());
    }
    assert.ok(await small.locator("label.send:has-text('Take a photo')").isVisible());
    assert.ok(await big.locator("label.send:has-text('Take a photo')").isHidden(), "a laptop has no camera at the shelf");
    await sound();
  });

  await t.test("takes photos that are chosen or dropped, and says how far it is", async () => {
    await big.locator("label.send:has-text('Add photos') input").setInputFiles(chosen);
    await big.locator("progress:visible").waitFor();
    assert.match(await big.locator("#shelf [role=status]").textContent(), /^(Sending photo \d of 7|Measuring: \d of \d photos|Looking at what is new)/);
    await drop(small, dropped);  // while the first are measured
    await until(async () => readdirSync(path.join(shelf.folder, "photos")).length === 12, "12 photos arrive");
    await until(async () => /^Measuring: \d+ of \d+ photos/.test(await small.locator("#shelf [role=status]").textContent()), "measuring is told to all", 20);
    await small.reload();  // in the middle
    await until(async () => (await small.locator("#shelf [role=status]").textContent()) !== "", "and after a reload", 20);
    assert.ok(existsSync(path.join(shelf.folder, "photos", "IMG_20260120_093010.jpg")));
    await settled(big);
  });

  await t.test("knows a tub by the grains of its wall, and asks for a stranger", async () => {
    await until(async () => (await big.locator(".question").count()) > 0, "a question appears by itself", 30);
    await until(async () => (await small.locator(".question").count()) > 0, "in both browsers", 30);
    const found = big.locator(".found");
    assert.match(await found.textContent(), /IMG_20260120_093010\.jpg is T02, known by the grains/);
    assert.match(await found.textContent(), /PXL_20260203_101112\.jpg is T02/);
    const asked = small.locator(".question").first();
    assert.match(await asked.textContent(), /Which tub is this\?.*IMG_202601(15|30)_080000\.jpg/s);
    await until(() => asked.locator("img").first().evaluate((image) => image.naturalWidth > 300), "its picture");
    await sound();
    await button(asked, "It is new").tap();
    assert.match(await asked.locator("[role=alert]").textContent(), /Type the tub's name/);
    await asked.locator("input").fill("IMG");
    await button(asked, "It is new").tap();
    await until(async () => /cannot be a tub's name/.test(await asked.locator("[role=alert]").textContent()), "a bad name is refused");
    small.errors.length = 0;  // the browser notes that it was
    await asked.locator("input").fill("T04");
    await asked.locator("input").press("Enter");
    // The other photo of that tub is then known.
    for (const page of Object.values(both)) {
      await until(async () => (await page.locator(".card h3 a:text-is('T04')").count()) === 1, "T04 appears by itself", 60);
      await until(async () => (await page.locator(".question").count()) === 0, "nothing is asked any more", 60);
    }
    const names = readdirSync(path.join(shelf.folder, "photos")).filter((name) => name.startsWith("T04_"));
    assert.equal(names.length, 1, String(names));
    assert.deepEqual((await stateOf(big)).tubs.toSorted(), ["T01", "T02", "T03", "T04", "T05"]);
  });

  await t.test("says when a photo was not known rightly, and asks again", async () => {
    await big.locator(".found button, .found ~ * button, summary:has-text('known by the grains')").first().click();
    if (await big.locator("summary:has-text('known by the grains')").count()) await big.locator(".found button").first().click();
    await big.locator(".question h3:focus").waitFor();
    assert.ok((await big.locator(".question .row button").allTextContents()).includes("T03"));
  });

  await t.test("writes down what was done, shows it, and takes it back", async () => {
    await upToDate(big);
    await upToDate(small);
    const card = small.locator(".doing > li:has(h3 a:text-is('T03'))");
    await button(card, "Done: tipped out").tap();
    await card.locator("text=today: tipped out").waitFor();
    assert.match(shelf.file("care.csv"), /\d{4}-\d\d-\d\d,T03,tipped-out,,\r\n/);
    await until(async () => (await button(card, "Done: tipped out").count()) === 0, "it is not asked again", 30);
    await until(async () => /today.*: tipped out/.test(await big.locator("#doing").textContent()), "the other browser tells it", 30);
    await settled(big);
    // After the reload too.
    await small.locator("#doing button:text-is('Undo')").first().tap();
    await until(async () => !/tipped-out/.test(shelf.file("care.csv")), "it is taken back");
    await button(card, "Done: tipped out").waitFor();
  });

  await t.test("has a form for anything else, by keyboard alone", async () => {
    const reach = async (words) => {
      for (let i = 0; i < 120; ++i) {
        await big.keyboard.press("Tab");
        if (await big.evaluate((w) => (document.activeElement.textContent || document.activeElement.closest("label")?.textContent || "").startsWith(w), words)) return;
      }
      assert.fail(`Tab does not reach ${words}`);
    };
    await upToDate(big);
    await reach("Add photos");
    await reach("Done: ");
    await reach("Write down for any tub");
    await big.keyboard.press("Enter");
    await big.locator("form.care:visible").waitFor();
    await sound();
    await big.keyboard.type("T02");
    await reach("How much");
    await big.keyboard.type("150");
    await reach("Note");
    await big.keyboard.type('=1+1 "pale", Möhre 🌱');
    await big.keyboard.press("Enter");
    await until(async () => existsSync(path.join(shelf.folder, "care.csv")) && /,T02,watered,150,"'=1\+1 ""pale"", Möhre 🌱"/.test(shelf.file("care.csv")), "it is written", 10);
    await until(async () => /watered, 150 ml, =1\+1 "pale", Möhre 🌱/.test(await big.locator("#doing").textContent()), "it is told", 10);
    await settled(big);
  });

  await t.test("loses neither what is being typed nor the place on the page when results come", async () => {
    await upToDate(big);
    await upToDate(small);
    await button(small, "Write down for any tub").tap();
    await small.locator("form.care:visible input[type=text]").fill("half a sentence");
    await small.locator("h1").tap();  // it is not in the field any more
    await big.locator("#find").fill("T0");
    await big.locator("#order").selectOption("name");
    await big.locator("#cuttings-title").click();
    await big.locator(".card h3 a:text-is('T05')").scrollIntoViewIfNeeded();
    await big.evaluate(() => { scrollBy(0, 300); window.before = true; });
    const place = () => big.locator("#groups").evaluate((one) => one.getBoundingClientRect().top);
    const was = await place();
    await big.evaluate(() => fetch(Shelf.url("care"), { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ tub: "T01", what: "moved" }) }));
    await until(async () => !(await big.evaluate(() => window.before).catch(() => true)), "the page with nothing in hand is new", 30);
    await big.locator("#shelf").waitFor({ state: "attached" });
    await new Promise((resolve) => setTimeout(resolve, 2500));  // when all has come
    assert.ok(Math.abs((await place()) - was) < 4, `the place: ${was}, now ${await place()}`);
    assert.equal(await big.inputValue("#find"), "T0");
    assert.equal(await big.inputValue("#order"), "name");
    await small.locator(".news:visible").waitFor();
    assert.equal(await small.inputValue("form.care:visible input[type=text]"), "half a sentence");
    await button(small, "Show them").tap();
    await until(async () => (await small.locator("form.care:visible").count()) === 0, "results are shown when asked for");
    assert.deepEqual([...big.errors, ...small.errors], []);
  });

  await t.test("refuses what is too large before sending, and says what was here already", async () => {
    await upToDate(big);
    await drop(big, [{ name: "huge.jpg", mimeType: "image/jpeg", size: 201 * 2 ** 20 }, { name: "film.mp4", mimeType: "video/mp4", size: 5 }]);
    assert.match(await big.locator("#shelf .notes").textContent(), /huge\.jpg has 201 MB; a photo may have 200 MB.*film\.mp4 is a film/s);
    await drop(big, Array.from({ length: 50 }, (_, i) => photo("T01_2026-01-12", `IMG_${i}`)));
    await until(async () => /50 photos were here already: IMG_0\.jpg, IMG_1\.jpg, IMG_2\.jpg and others\./.test(await big.locator("#shelf .notes").textContent()), "all 50 are told in a line", 60);
    await drop(big, [{ name: "IMG_0099.heic", mimeType: "", buffer: Buffer.from("no picture") }]);
    await until(async () => /IMG_0099\.heic: /.test(await big.locator("#shelf .notes").textContent()), "a broken photo is told by its name", 20);
    assert.equal(readdirSync(path.join(shelf.folder, "photos")).length, 12);
    await settled(big);
    big.errors.length = 0;  // the browser notes that the broken photo was refused
  });

  for (const [name, options] of Object.entries({ "1280 px": { viewport: laptop }, "390 px": onPhone }))
    await t.test(`serves a cutting's page at ${name}`, async () => {
      for (const colorScheme of ["light", "dark"]) {
        const page = await openPage(browser, new URL("report/cuttings/T03.html", shelf.address).href, { ...options, colorScheme });
        await button(page, "Done: tipped out").waitFor();
        await button(page, "Something else").click();
        assert.deepEqual(await accessibilityViolations(page), []);
        assert.deepEqual(await isLow(page), []);
        assert.ok((await isWide(page)) <= 0);
        assert.deepEqual(page.errors, []);
        await page.context().close();
      }
    });

  await t.test("prints without the shelf's controls", async () => {
    for (const address of [shelf.address, new URL("report/cuttings/T03.html", shelf.address).href]) {
      const page = await openPage(browser, address);
      await page.locator(".diary").first().waitFor();
      await page.emulateMedia({ media: "print" });
      for (const one of ["#shelf", ".diary"]) assert.equal(await page.locator(`${one} >> visible=true`).count(), 0, one);
      assert.equal((await page.pdf()).subarray(0, 5).toString(), "%PDF-");
      await page.context().close();
    }
  });

  for (const [name, options] of Object.entries({ "1280 px": { viewport: laptop }, "390 px": onPhone }))
    await t.test(`has the plan as a form at ${name}`, async () => {
      const page = await openPage(browser, new URL("plan", shelf.address).href, options);
      await page.locator("#rows tr").nth(4).waitFor();  // the tubs that photos show, or the plan as kept
      const count = await page.locator("#rows tr").count();
      assert.equal(await page.isVisible("#labels"), existsSync(path.join(shelf.folder, "batch.csv")));
      const cell = (row, column) => page.locator("#rows tr").nth(row).locator(`[data-column=${column}]`);
      await cell(0, "tub").fill("T01");
      await cell(0, "variety").fill('Quince "Plot", nine');
      await cell(0, "stuck_on").fill("2026-01-12");
      await cell(count - 1, "variety").fill("Plum Water Butt");
      await page.click("#more");
      assert.equal(await cell(count, "variety").inputValue(), "Plum Water Butt");
      await cell(count, "tub").fill("");
      await button(page, "Save the plan").click();
      await until(async () => /tub/.test(await page.textContent("#said.wrong")), "a row without a tub is refused");
      await page.click(`[aria-label='Remove row ${count + 1}']`);
      await button(page, "Save the plan").click();
      await until(async () => /^Kept\./.test(await page.textContent("#said")), "it is kept");
      assert.equal(shelf.file("batch.csv").split("\r\n")[1], 'T01,"Quince ""Plot"", nine",,,2026-01-12,,');
      for (const label of await page.locator("#labels a").all()) {
        const [file] = await Promise.all([page.waitForEvent("download"), label.click()]);
        assert.equal(readFileSync(await file.path()).subarray(0, 5).toString(), "%PDF-");
      }

      await page.click("summary:has-text('Draw lots')");
      await page.fill("[name=tubs]", "6");
      await page.fill("[name=medium]", "vermiculite\nperlite");
      await button(page, "Draw lots").click();
      await page.locator("#rows tr").nth(5).waitFor();
      const media = await page.locator("#rows [data-column=medium]").evaluateAll((all) => all.map((one) => one.value));
      assert.deepEqual(media.toSorted(), ["perlite", "perlite", "perlite", "vermiculite", "vermiculite", "vermiculite"]);
      assert.ok(await page.isHidden("#labels"), "labels are of the plan as saved");
      assert.equal(shelf.file("batch.csv").split("\r\n").length, count + 2, "nothing is kept until saved");

      await page.click("summary:has-text('A tub size')");
      const size = `Yoghurt ${name}`;
      await page.fill("[name=name]", size);
      for (const [side, mm] of [["rim", 95], ["base", 75], ["height", 110]]) await page.fill(`[name^=${side}]`, String(mm));
      await button(page, "Keep this size").click();
      await until(async () => (await page.textContent("#said")) === `${size} can be chosen as a tub's size now.`, "the size is kept");
      assert.ok(JSON.parse(shelf.file("settings.json")).tub_types.some((type) => type.name === size && type.rim_diameter_mm === 95));
      assert.equal(JSON.parse(shelf.file("settings.json")).roots.learned, false, "what the file held stays");
      await cell(0, "tub_type").selectOption(size);

      for (const colorScheme of ["light", "dark"]) {
        await page.emulateMedia({ colorScheme });
        assert.deepEqual(await accessibilityViolations(page), [], colorScheme);
      }
      assert.deepEqual(await isLow(page), []);
      assert.ok((await isWide(page)) <= 0);
      await button(page, "Put the rows from before back").click();
      assert.equal(await page.locator("#rows tr").count(), count);
      assert.deepEqual(page.errors.filter((error) => !/422/.test(error)), []);
      await page.context().close();
    });

  await t.test("says that the computer is gone, keeps what was not sent, and does not ask on and on", async () => {
    await upToDate(big);
    await shelf.end();
    big.asked.length = 0;
    await until(async () => /does not answer/.test(await big.locator("#shelf [role=status]").textContent()), "it is told", 20);
    await drop(big, [photo("T06_2026-01-20"), photo("T06_2026-01-29")]);
    await until(async () => /2 photos are not sent yet/.test(await big.locator("#shelf").textContent()), "and what was not sent");
    assert.ok(await button(big, "Send again").isVisible());
    big.asked.length = 0;
    await new Promise((resolve) => setTimeout(resolve, 7000));
    assert.ok(big.asked.length <= 1, `asked ${big.asked.length} times in 7 s`);
  });
});

test("shelf in the local network", async (t) => {
  const browser = await launch();
  const shelf = await serve(newSeason("shelf-lan"), "--lan");
  t.after(() => Promise.all([browser.close(), shelf.end()]));
  const page = await openPage(browser, shelf.address);
  await button(page, "Let a phone in").click();
  if (Object.values(networkInterfaces()).flat().every((one) => one.internal || one.family !== "IPv4")) {
    await page.locator("text=this computer is in no local network").waitFor();
    return;
  }
  await page.locator(".invite svg[role=img]").waitFor();
  assert.deepEqual(await accessibilityViolations(page), []);
  const code = await page.locator(".invite code").textContent();
  const guest = await openPage(browser, code, onPhone);
  await guest.locator("h2:text-is('The first photos')").waitFor();
  assert.ok(await guest.locator("text=Let a phone in").isHidden(), "a guest invites nobody");
  const second = await (await browser.newContext()).newPage();
  assert.ok((await second.goto(code)).status() >= 400);
  assert.deepEqual([...page.errors, ...guest.errors], []);
});
