// HTML that we print, judged by a validator (html-validate, by the HTML standard of WHATWG)
// and by a browser: in a window of 360 px nothing may be wider than it, and nothing may be
// fetched, run or opened. Then the judges are shown pages that are wrong, lest they pass all.
//
//     node pages.mjs CHROMIUM PAGE... [--pictures FOLDER]
import { readFileSync } from "node:fs";
import { basename, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { HtmlValidate } from "html-validate";
import puppeteer from "puppeteer-core";

const [chromium, ...rest] = process.argv.slice(2);
const at = rest.indexOf("--pictures");
const pictures = at < 0 ? null : rest[at + 1];
const pages = at < 0 ? rest : rest.slice(0, at);
if (pages.length === 0) throw new Error("no page was given");

const validator = new HtmlValidate({ extends: ["html-validate:standard", "html-validate:a11y"] });
const browser = await puppeteer.launch({
  executablePath: chromium,
  // Where tests run there is often no user to keep the browser apart from; the pages are ours.
  args: ["--no-sandbox"],
});

async function faults(name, html, pictures) {
  const found = [];
  const report = await validator.validateString(html);
  for (const one of report.results.flatMap((result) => result.messages))
    found.push(`${one.line}:${one.column}: ${one.message} [${one.ruleId}]`);
  const page = await browser.newPage();
  const url = pathToFileURL(resolve(name)).href;
  await page.setRequestInterception(true);
  page.on("request", (request) => {
    if (request.url() === url) return request.respond({ contentType: "text/html; charset=utf-8", body: html });
    found.push(`fetches ${request.url()}`);
    return request.abort();
  });
  page.on("dialog", (dialog) => {
    found.push(`opens a dialog: ${dialog.message()}`);
    return dialog.dismiss();
  });
  for (const width of [360, 1200]) {
    await page.setViewport({ width, height: 800 });
    await page.goto(url, { waitUntil: "load" });
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    if (wide > width) found.push(`is ${wide} px wide in a window of ${width}`);
    if (pictures) await page.screenshot({ path: join(pictures, `${basename(name)}-${width}.png`), fullPage: true });
  }
  if (pictures) await page.pdf({ path: join(pictures, `${basename(name)}.pdf`), format: "A4" });
  await page.close();
  return found;
}

let failed = false;
for (const name of pages) {
  const found = await faults(name, readFileSync(name, "utf8"), pictures);
  for (const one of found) console.log(`${name}: ${one}`);
  failed ||= found.length > 0;
}

const sample = readFileSync(pages[0], "utf8");
for (const [slip, expected] of [
  ['<img src="https://matchmark.example/x.png" alt="x">', /^fetches /],
  ['<p style="width: 900px">x</p>', /px wide in a window of 360$/],
  ["<script>alert(1)</script>", /^opens a dialog/],
  ["<p><table></table></p>", /\[(no-implicit-close|close-order)\]$/],
  ["<b>x", /\[(close-order|no-implicit-close)\]$/],
]) {
  const found = await faults(pages[0], sample.replace("</main>", `${slip}</main>`));
  if (!found.some((one) => expected.test(one))) {
    console.log(`let through: ${slip}: ${found.join("; ") || "no fault"}`);
    failed = true;
  }
}
await browser.close();
console.log(`${pages.length} pages judged`);
process.exit(failed ? 1 : 0);
