// A browser, and pages that tell what went wrong in them.
import { createRequire } from "node:module";
import { readFileSync, statSync } from "node:fs";
import { fileURLToPath, pathToFileURL } from "node:url";
import path from "node:path";

export const scratch = path.resolve(process.env.SCRATCH);
const require = createRequire(path.join(scratch, "package.json"));
const { chromium } = require("playwright-core");
const axeSource = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

export const phone = { width: 390, height: 844 };
export const laptop = { width: 1280, height: 900 };
export const sizes = { "390 px": phone, "1280 px": laptop };

export const launch = () =>
  chromium.launch({ executablePath: "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu"] });

/// The address of a file below the scratch folder.
export const addressOf = (...parts) => pathToFileURL(path.join(scratch, ...parts)).href;

/// Opens a page and notes what it says and asks for. `now`: what its clock says.
export async function openPage(browser, address, { now, ...options } = {}) {
  const context = await browser.newContext({ viewport: laptop, ...options });
  const page = await context.newPage();
  if (now) await page.clock.setFixedTime(now);
  page.errors = [];
  page.asked = [];
  page.on("console", (message) => ["error", "warning"].includes(message.type()) && page.errors.push(`${message.text()} ${message.location().url}`));
  page.on("pageerror", (error) => page.errors.push(String(error)));
  // A picture that the page itself has put another in the place of, before it came, is no fault.
  page.on("requestfailed", (request) => request.failure()?.errorText !== "net::ERR_ABORTED" &&
    page.errors.push(`failed: ${request.url()}: ${request.failure()?.errorText}`));
  page.on("request", (request) => page.asked.push(request.url()));
  await page.goto(address);
  return page;
}

/// Violations of WCAG 2.2 A and AA, each in one line.
export async function accessibilityViolations(page) {
  await page.evaluate(axeSource);
  const result = await page.evaluate(() =>
    axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] }));
  if (result.passes.length < 10) throw new Error("the accessibility library looked at nearly nothing");
  return result.violations.map((v) => `${v.id}: ${v.help}: ${v.nodes.slice(0, 3).map((n) => n.target).join("; ")}`);
}

/// Bytes of all files that a page has asked for.
export const bytesOf = (addresses) =>
  [...new Set(addresses)].filter((a) => a.startsWith("file:"))
    .reduce((sum, address) => sum + statSync(fileURLToPath(address)).size, 0);

/// When it comes true in the page, within ten seconds. Pages allow no eval, which Playwright's waitForFunction
/// falls back on.
export async function comesTrue(page, condition, argument) {
  for (const end = Date.now() + 10000; !(await page.evaluate(condition, argument)); await page.waitForTimeout(50))
    if (Date.now() > end) throw new Error(`never comes true: ${condition}`);
}

/// Draws with the mouse from point to point; points are shares of the element's box.
export async function drawByMouse(page, selector, points) {
  const box = await page.locator(selector).boundingBox();
  const at = ([x, y]) => [box.x + x * box.width, box.y + y * box.height];
  await page.mouse.move(...at(points[0]));
  await page.mouse.down();
  for (const point of points.slice(1)) await page.mouse.move(...at(point), { steps: 5 });
  await page.mouse.up();
}

/// What fingers do: each step is [kind of event, places of all fingers as shares of the element's box].
export async function touch(page, selector, steps) {
  const box = await page.locator(selector).boundingBox();
  const at = ([x, y], id) => ({ x: box.x + x * box.width, y: box.y + y * box.height, id });
  const device = await page.context().newCDPSession(page);
  for (const [type, places] of steps)
    await device.send("Input.dispatchTouchEvent", { type, touchPoints: places.map(at) });
}

/// The same as drawByMouse with one finger.
export const drawByTouch = (page, selector, points) =>
  touch(page, selector, [["touchStart", [points[0]]], ...points.slice(1).map((point) => ["touchMove", [point]]), ["touchEnd", []]]);
