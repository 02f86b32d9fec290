// Takes the pictures of docs/pictures/: SCRATCH=... node tests/browser/screenshots.mjs SEASON docs/pictures
// SCRATCH is the scratch folder of a run of the browser tests, SEASON the sample season, measured.
import path from "node:path";
import { pathToFileURL } from "node:url";
import { launch, openPage, phone, laptop } from "./support.mjs";

const [season, out] = process.argv.slice(2);
const browser = await launch();
const shot = (page, name) => page.screenshot({ path: path.join(out, name), type: "jpeg", quality: 78 });
const report = pathToFileURL(path.resolve(season, "report")).href;

for (const [width, viewport] of [[390, phone], [1280, laptop]]) {
  // A day after the newest photo of the samples.
  const page = await openPage(browser, `${report}/index.html`, { viewport, now: "2026-03-17T09:00:00" });
  await page.waitForLoadState("networkidle");
  await shot(page, `page-season-${width}.jpg`);
  await page.goto(`${report}/cuttings/Q9-1.html`);
  await page.check("[name=view][value=growth]", { force: true });
  await page.waitForLoadState("networkidle");
  await shot(page, `page-cutting-${width}.jpg`);
  await page.check("[name=view][value=found]", { force: true });
  await page.click("#open-easel");
  await page.locator("#touch-up").evaluate((section) => section.scrollIntoView());
  const ink = await page.locator("#ink").boundingBox();
  const easel = await page.locator("#easel").boundingBox();
  await page.mouse.move(ink.x + 0.55 * ink.width, easel.y + 0.5 * Math.min(easel.height, 300));
  await page.mouse.down();
  await page.mouse.move(ink.x + 0.62 * ink.width, easel.y + 0.8 * Math.min(easel.height, 300), { steps: 8 });
  await page.mouse.up();
  await shot(page, `page-touch-up-${width}.jpg`);
  await page.context().close();
}
await browser.close();
