// A second double click: the page that is there is opened, by what opens pages on a desktop.
import test from "node:test";
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { chmodSync, existsSync, mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import path from "node:path";
import { newSeason, serve, until } from "./served.mjs";
import { launch, openPage } from "./support.mjs";

test("a second start opens the page of the one that runs", async () => {
  const folder = newSeason("shelf-again");
  const beside = `${folder}-programs`;
  mkdirSync(beside, { recursive: true });
  const opened = path.join(beside, "opened"), opener = path.join(beside, "xdg-open");
  rmSync(opened, { force: true });
  writeFileSync(opener, `#!/bin/sh\nprintf %s "$1" > '${opened}'\n`);
  chmodSync(opener, 0o755);
  const again = () => spawnSync(process.env.SLIPGLASS, ["shelf", folder], { encoding: "utf8", timeout: 30000, env: { ...process.env, PATH: `${beside}:${process.env.PATH}` } });
  const shelf = await serve(folder);
  const second = again();
  assert.equal(second.status, 0, second.stderr);
  assert.match(second.stdout, /is open already, on http:\/\/127\.0\.0\.1:/);
  await until(async () => existsSync(opened) && readFileSync(opened, "utf8") !== "", "the browser is called", 10);
  assert.equal(readFileSync(opened, "utf8"), shelf.address);
  const browser = await launch();
  const page = await openPage(browser, readFileSync(opened, "utf8"));
  await page.locator("h2:text-is('The first photos')").waitFor();
  await browser.close();

  // Served, but by one that does not tell where: it says so, as before.
  writeFileSync(path.join(folder, ".running"), "{}");
  const silent = again();
  assert.equal(silent.status, 1);
  assert.match(silent.stderr, /in use by another slipglass\. End that one first, or use its page\./);
  await shelf.end();
  assert.ok(!existsSync(path.join(folder, ".running")));
});
