// The pages in other languages: what scripts say is translated too, and long words break nothing.
import test from "node:test";
import assert from "node:assert/strict";
import { accessibilityViolations, addressOf, launch, openPage, sizes } from "./support.mjs";

const says = {
  de: { shown: "6 von 6 gezeigt", old: /, vor 14 Tagen/, thenOld: "Was hier steht, ist ebenso alt.", hint: "Eine übersehene Wurzel nachziehen." },
  es: { shown: "6 de 6 a la vista", old: /, hace 14 días/, thenOld: "Lo que pone aquí es igual de antiguo.", hint: "Dibujar a lo largo de una raíz que faltaba." },
};

test("pages in other languages", async (t) => {
  const browser = await launch();
  t.after(() => browser.close());

  for (const [language, words] of Object.entries(says)) {
    const page = (name) => addressOf(`season-${language}/report/${name}.html`);
    for (const [name, viewport] of Object.entries(sizes))
      await t.test(`fit in ${language} at ${name}, without a violation of accessibility`, async () => {
        for (const address of ["index", "cuttings/MG-1", "bench-sheet"].map(page)) {
          const opened = await openPage(browser, address, { viewport });
          await opened.waitForLoadState("networkidle");
          assert.deepEqual(opened.errors, []);
          const [wide, seen] = await opened.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
          assert.ok(wide <= seen, `${address}: ${wide} px of page on ${seen} px`);
          assert.equal(await opened.evaluate(() => document.documentElement.lang), language);
          assert.deepEqual(await accessibilityViolations(opened), []);
          await opened.context().close();
        }
      });

    await t.test(`have scripts that speak ${language}`, async () => {
      const season = await openPage(browser, page("index"), { now: "2026-03-18T09:00:00" });
      assert.equal(await season.locator("#shown").textContent(), words.shown);
      assert.match(await season.locator(".newest").textContent(), words.old);
      assert.equal(await season.locator(".newest").getAttribute("data-then"), words.thenOld);
      await season.goto(page("cuttings/MG-1"));
      await season.click("#open-easel");
      assert.equal(await season.locator("#hint").textContent(), words.hint);
      await season.context().close();
    });
  }
});
