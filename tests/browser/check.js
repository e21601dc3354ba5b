// usage: node check.js WEEPHOLE FOLDER CASE...
//
// Opens the pages that `weephole explain --format html` writes in a real browser and holds them to what
// docs/explain.md promises. Prints one line a check; ends with status 1 if any failed.

import { execFileSync } from "node:child_process";
import { existsSync, mkdirSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { basename, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [weephole, folder, ...cases] = process.argv.slice(2);
const axe = createRequire(import.meta.url).resolve("axe-core/axe.min.js");
const browserPath = [process.env.CHROMIUM, "/usr/bin/chromium", "/usr/bin/chromium-browser"].find(
  (path) => path && existsSync(path),
);
const PHONE = { width: 360, height: 740 };
const DESK = { width: 1000, height: 1200 };
// The customer's page must fit on two sheets; the workshop's is for reading and may take more.
const MOST_SHEETS = { customer: 2, workshop: 5 };
const FLAGS = [
  "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync",
];

let failed = 0;
function check(name, holds, found = "") {
  if (!holds) failed += 1;
  console.log(`${holds ? "ok  " : "FAIL"} ${name}${found === "" ? "" : `: ${found}`}`);
}

// Shapes must lie beside each other: a rectangle inside a rectangle is a tag that was never closed.
function badShapes() {
  const shape = "rect, line, path, circle, ellipse";
  return [...document.querySelectorAll("svg")].flatMap((svg) =>
    [...svg.querySelectorAll(shape)].filter((one) => one.querySelector(shape)).map((one) => one.outerHTML.slice(0, 60)),
  );
}

// Anything drawn or written outside its picture.
function outsidePictures() {
  return [...document.querySelectorAll("svg")].flatMap((svg) => {
    const frame = svg.getBoundingClientRect();
    return [...svg.querySelectorAll("text, rect, circle")]
      .filter((one) => {
        const box = one.getBoundingClientRect();
        return box.left < frame.left - 1 || box.right > frame.right + 1 || box.bottom > frame.bottom + 1;
      })
      .map((one) => one.textContent || one.outerHTML.slice(0, 60));
  });
}

function overflow() {
  const wide = document.documentElement.clientWidth;
  const over = [...document.body.querySelectorAll("*")].filter(
    (one) => !one.closest("thead") && !one.closest("svg") && one.getBoundingClientRect().right > wide + 1,
  );
  return { scroll: document.documentElement.scrollWidth - wide, over: over.map((one) => one.tagName).slice(0, 5) };
}

async function open(browser, file, options, visit) {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  const seen = { console: [], requests: [], dialogs: 0 };
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) seen.console.push(message.text());
  });
  page.on("pageerror", (error) => seen.console.push(String(error)));
  page.on("dialog", (dialog) => { seen.dialogs += 1; dialog.dismiss(); });
  page.on("request", (request) => seen.requests.push(request.url()));
  const url = pathToFileURL(resolve(file)).href;
  await page.goto(url, { waitUntil: "load" });
  seen.outside = seen.requests.filter((request) => request !== url);
  const result = await visit(page, seen);
  await context.close();
  return result;
}

async function sheets(page, format) {
  const pdf = await page.pdf({ format, preferCSSPageSize: false, printBackground: true });
  return { count: (pdf.toString("latin1").match(/\/Type\s*\/Page[^s]/g) ?? []).length, pdf };
}

async function accessibility(page) {
  await page.addScriptTag({ path: axe });
  const { violations } = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
  return violations.map((one) => `${one.id} (${one.nodes.length}: ${one.nodes[0].target.join(" ")})`);
}

async function checkPage(browser, file, name, reader) {
  for (const colorScheme of ["light", "dark"]) {
    await open(browser, file, { viewport: DESK, colorScheme, bypassCSP: true }, async (page) => {
      await page.screenshot({ path: file.replace(".html", `-${colorScheme}.png`), fullPage: true });
      const found = await accessibility(page);
      check(`${name}: accessible, ${colorScheme}`, found.length === 0, found.join(", "));
    });
  }
  await open(browser, file, { viewport: PHONE, deviceScaleFactor: 2 }, async (page, seen) => {
    const { scroll, over } = await page.evaluate(overflow);
    check(`${name}: nothing runs over at 360 px`, scroll <= 0 && over.length === 0, over.join(" "));
    await page.screenshot({ path: file.replace(".html", "-phone.png"), fullPage: true });
    check(`${name}: quiet console`, seen.console.length === 0, seen.console.join(" | "));
    check(`${name}: no outside requests`, seen.outside.length === 0, seen.outside.join(" "));
    check(`${name}: nothing pops up`, seen.dialogs === 0);
  });
  await open(browser, file, { viewport: DESK }, async (page) => {
    const bad = await page.evaluate(badShapes);
    check(`${name}: pictures are well formed`, bad.length === 0, bad.join(" "));
    const outside = await page.evaluate(outsidePictures);
    check(`${name}: pictures keep within their frames`, outside.length === 0, outside.join(" | "));
    const scripts = await page.evaluate(() => document.querySelectorAll("script, iframe, object, embed, link, img").length);
    check(`${name}: no scripts, no loads`, scripts === 0);
    for (const format of ["A4", "Letter"]) {
      const { count, pdf } = await sheets(page, format);
      check(`${name}: ${format} sheets`, count >= 1 && count <= MOST_SHEETS[reader], count);
      if (format === "A4") writeFileSync(file.replace(".html", ".pdf"), pdf);
    }
  });
}

mkdirSync(folder, { recursive: true });
const home = join(resolve(folder), "home");
mkdirSync(home, { recursive: true });
const shop = { name: "Thornby Weir workshop", contact: "behind the mill, ask for the key" };
writeFileSync(join(home, "shop.yaml"), JSON.stringify(shop));

// A case and a shop that mean harm, beside the honest ones. What steers a terminal is refused when the file is read.
const harm = `<script>alert(1)</script><img src=x onerror=alert(2)></style></svg>"'&${"a".repeat(10_000)}`;
const hostileShop = join(home, "hostile-shop.yaml");
writeFileSync(hostileShop, JSON.stringify({ name: harm, contact: harm, currency: harm }));
const hostileCase = join(home, "hostile.yaml");
writeFileSync(hostileCase, JSON.stringify({
  format: 1, title: harm, complaint: harm, vehicle: { name: harm, note: harm },
  answers: [{ ask: "weep-hole-seepage", answer: "yes", note: harm }, { ask: "rock-pump-pulley", answer: "play" }],
}));

const browser = await chromium.launch({ executablePath: browserPath, headless: true, args: FLAGS });
for (const file of [...cases, hostileCase]) {
  for (const reader of ["customer", "workshop"]) {
    const name = `${basename(file, ".yaml")} for ${reader}`;
    const out = join(folder, `${basename(file, ".yaml")}-${reader}.html`);
    const args = ["explain", file, "--for", reader, "--format", "html", "--out", out, "--redraws", "40"];
    if (file === hostileCase) args.push("--shop", hostileShop);
    execFileSync(weephole, args, { env: { ...process.env, WEEPHOLE_HOME: home }, stdio: ["ignore", "ignore", "inherit"] });
    await checkPage(browser, out, name, reader);
  }
}
await browser.close();
console.log(failed === 0 ? "all browser checks hold" : `${failed} browser checks failed`);
process.exit(failed === 0 ? 0 : 1);
