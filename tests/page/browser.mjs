// What a person sees and does at the bench, in a real browser at the sizes of a phone, a tablet and a desktop.
import { spawn } from "node:child_process";
import { createRequire } from "node:module";
import assert from "node:assert/strict";
import fs from "node:fs";
import os from "node:os";
import path from "node:path";
import { chromium } from "playwright-core";

const [program, examples, pictures, only = ""] = process.argv.slice(2);
const axe = fs.readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const SIZES = { phone: [390, 844], tablet: [1024, 768], desktop: [1440, 900] };
const DAY = "2026-03-31";

const running = new Set();
process.on("exit", () => { for (const child of running) child.kill("SIGKILL"); });
// The program, serving a copy of the examples.
async function serve(folder, port = 0, day = ["--as-of", DAY]) {
  const child = spawn(program, ["bench", folder, "--port", String(port), ...day], { stdio: ["ignore", "pipe", "inherit"] });
  running.add(child);
  const link = await new Promise((found, failed) => {
    let said = "";
    child.stdout.on("data", (text) => { said += text; const link = said.match(/http:\S+/); if (link) found(link[0]); });
    child.on("exit", () => failed(new Error("the program ended: " + said)));
  });
  const home = link.replace(/\/enter.*/, "");
  return { link, home, port: Number(new URL(link).port), kill: () => new Promise((gone) => { child.removeAllListeners("exit"); child.on("exit", gone); child.kill("SIGKILL"); }) };
}
function workshop() {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), "bench-"));
  fs.cpSync(examples, folder, { recursive: true });
  return folder;
}

const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"] });
const faults = [];
async function open(served, size = "tablet", scheme = "light", locale = "en-GB") {
  const [width, height] = SIZES[size];
  const context = await browser.newContext({ viewport: { width, height }, hasTouch: true, colorScheme: scheme, locale });
  const page = await context.newPage();
  page.on("console", (message) => { if (message.type() === "error" && !/ERR_|Failed to load resource/.test(message.text())) faults.push(message.text()); });
  page.on("pageerror", (error) => faults.push(String(error)));
  await page.goto(served.link);
  return page;
}
const jobOf = (served, name) => served.home + "/job?job=" + encodeURIComponent(name);
const row = (page, id) => page.locator(`[data-id="${id}"]`);
const state = (page) => page.locator("#verdict .verdict").getAttribute("data-state");
// Begins a job by a procedure, on the day of the examples.
async function begin(page, number, procedure) {
  await page.locator("summary", { hasText: "New job" }).tap();
  await page.fill("input[name=number]", number);
  await page.selectOption("select[name=procedure]", procedure);
  await page.locator("form.new button").tap();
  await page.waitForSelector("main[data-job]");
  await enter(page, "job.opened", "2026-03-30T08:00:00+02:00");
  await saved(page);
}

const saved = (page) => page.waitForFunction(() => document.getElementById("line").textContent.trim() === document.getElementById("line").dataset.saved);
async function picture(page, name) { if (pictures) { fs.mkdirSync(pictures, { recursive: true }); await page.screenshot({ path: path.join(pictures, name + ".png") }); } }
async function accessible(page, what) {
  await page.evaluate(axe);
  const found = await page.evaluate(() => window.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }));
  const told = found.violations.map((one) => `${one.id}: ${one.nodes.slice(0, 3).map((node) => node.html.slice(0, 160)).join(" | ")}`);
  assert.deepEqual(told, [], what);
}
// Enters a value by the control that the page has for it.
async function enter(page, id, value) {
  const place = row(page, id);
  const button = place.locator(`button[data-say="${value}"]`);
  if (await button.count()) { await button.first().tap(); return; }
  const input = place.locator("[data-in]");
  if (await input.evaluate((one) => one.tagName) === "SELECT") { await input.selectOption(value); return; }
  await input.fill(value);
  await input.blur();
}

const tests = {
  async "every page is accessible and readable, at each size, light and dark, in both languages"() {
    const served = await serve(workshop());
    for (const size of Object.keys(SIZES)) for (const scheme of ["light", "dark"]) {
      const page = await open(served, size, scheme, scheme === "dark" ? "de-AT" : "en-GB");
      await accessible(page, `day, ${size}, ${scheme}`);
      await picture(page, `day-${size}-${scheme}`);
      for (const job of ["jobs/K-2054-still-in-work.yaml", "jobs/K-2045-sump-screw-too-tight.yaml"]) {
        await page.goto(jobOf(served, job));
        await accessible(page, `${job}, ${size}, ${scheme}`);
        await picture(page, `${job.slice(5, 11)}-${size}-${scheme}`);
        const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
        assert.ok(wide <= 0, `${job} at ${size} is ${wide} px too wide`);
        const small = await page.evaluate(() => [...document.querySelectorAll("button, input, select, textarea, a.button")].filter((one) => one.offsetParent && (one.offsetHeight < 44 || one.offsetWidth < 44)).map((one) => one.outerHTML.slice(0, 120)));
        assert.deepEqual(small, [], "targets are at least 44 px");
      }
      await page.goto(served.home + "/close?job=jobs/K-2054-still-in-work.yaml");
      await accessible(page, `closing, ${size}, ${scheme}`);
      await page.context().close();
    }
    await served.kill();
  },

  async "a twin clutch job is filled in by touch until there is nothing to hold"() {
    const folder = workshop();
    const served = await serve(folder);
    const page = await open(served, "tablet");
    await begin(page, "K-2100", "seven-speed-twin-clutch");
    const entered = new Map();
    for (let round = 0; round < 12; round += 1) {
      await saved(page);
      const open = await page.evaluate(() => [...document.querySelectorAll("main [data-id]")].filter((one) => ["todo", "held", "error", "advised"].includes(one.dataset.state) && one.querySelector("[data-in], [data-say]")).map((one) => one.dataset.id));
      let changed = 0;
      for (const id of open) {
        const value = FILLED.find(([pattern]) => pattern.test(id))?.[1];
        assert.ok(value !== undefined, `nothing is known for ${id}: ${await row(page, id).locator(".notes").innerText()}`);
        if (entered.get(id) === value) continue;
        entered.set(id, value);
        await enter(page, id, value);
        await saved(page);
        changed += 1;
      }
      if (!changed) break;
    }
    if (await state(page) !== "fine") console.log(await page.locator("#main").innerText());
    assert.equal(await state(page), "fine");
    await picture(page, "filled-in");
    await page.locator("a.button", { hasText: "Close the job" }).tap();
    await page.waitForSelector("#verdict");
    await accessible(page, "closing a job that is filled in");
    await page.locator("a.button", { hasText: "Print" }).tap();
    await page.waitForSelector("main.printed");
    assert.match(await page.locator("main.printed").innerText(), /fastenings\[filter cap, gearbox top\]\.torque\s+8 Nm/);
    await accessible(page, "the record to print");
    const text = fs.readFileSync(path.join(folder, "jobs/K-2100.yaml"), "utf8");
    assert.match(text, /torque: 8 Nm/);
    await served.kill();
  },

  async "a fault of each kind is seen beside its field, while it is typed"() {
    const served = await serve(workshop());
    const page = await open(served, "desktop");
    await page.goto(jobOf(served, "jobs/K-2054-still-in-work.yaml"));
    const input = row(page, "level_check.temperature").locator("[data-in]");
    await input.pressSequentially("95");
    await page.waitForSelector('[data-id="level_check.temperature"][data-state="held"]');
    assert.match(await row(page, "level_check.temperature").innerText(), /95 °C/);
    // What is opened stays open and in its place when the page is judged anew, also where its parts change.
    await row(page, "level_check.temperature").locator("summary").first().click();
    await page.evaluate(() => { document.querySelector('[data-id="level_check.temperature"]').marked = true; document.getElementById("shape").dataset.shape = "other"; });
    await enter(page, "fault_memory.after.read", "yes");
    await saved(page);
    await page.waitForFunction(() => document.getElementById("shape").dataset.shape !== "other");
    assert.ok(await row(page, "level_check.temperature").evaluate((one) => one.marked && one.querySelector("details").open), "it is another element, or was closed");
    await page.setViewportSize({ width: 1024, height: 768 });
    await row(page, "level_check.temperature").scrollIntoViewIfNeeded();
    await picture(page, "held");
    await input.fill("warm");
    await page.waitForSelector('[data-id="level_check.temperature"][data-state="error"]');
    await input.fill("38,5");
    await input.blur();
    await page.waitForSelector('[data-id="level_check.temperature"][data-base="38.5 °C"]');
    await page.waitForSelector('[data-id="level_check.temperature"][data-state="fine"]');
    await served.kill();
  },

  async "two browsers on one job join their changes, and show both where they differ"() {
    const folder = workshop();
    const served = await serve(folder);
    const [one, two] = [await open(served), await open(served, "phone")];
    const job = "jobs/K-2054-still-in-work.yaml";
    for (const page of [one, two]) await page.goto(jobOf(served, job));
    await enter(one, "level_check.temperature", "38");
    await saved(one);
    await enter(two, "fault_memory.after.read", "yes");
    await two.waitForSelector('[data-id="level_check.temperature"][data-base="38 °C"]');
    await one.waitForSelector('[data-id="fault_memory.after.read"][data-base="yes"]');
    // Both change one field before either has heard of the other.
    await two.route("**/state*", (route) => route.abort());
    await enter(one, "level_check.temperature", "39");
    await saved(one);
    await enter(two, "level_check.temperature", "40");
    await two.waitForSelector(".choose");
    assert.match(await two.locator(".choose").innerText(), /40 °C[\s\S]*39 °C/);
    await accessible(two, "a choice");
    await picture(two, "choice");
    assert.match(fs.readFileSync(path.join(folder, job), "utf8"), /temperature: 39 °C/);
    await two.locator(".choose button").first().tap();
    await saved(two);
    assert.match(fs.readFileSync(path.join(folder, job), "utf8"), /temperature: 40 °C/);
    await served.kill();
  },

  async "an entry that was added by mistake is taken out again, after the page has asked"() {
    const folder = workshop();
    const served = await serve(folder);
    const page = await open(served, "phone");
    const job = "jobs/K-2054-still-in-work.yaml";
    const before = fs.readFileSync(path.join(folder, job), "utf8");
    await page.goto(jobOf(served, job));
    await page.locator('[data-also="filters[+]"]').first().tap();
    await enter(page, "filters[+].place", "sump");
    await saved(page);
    const out = page.locator('[data-take-out="filters[sump]"]');
    await out.tap();
    assert.match(await out.innerText(), /Take it out of the record/);
    assert.match(fs.readFileSync(path.join(folder, job), "utf8"), /place: sump/);
    await accessible(page, "a question");
    await picture(page, "take-out");
    await out.tap();
    await page.waitForFunction(() => !document.querySelector('[data-take-out="filters[sump]"]'));
    assert.equal(fs.readFileSync(path.join(folder, job), "utf8"), before);
    await served.kill();
  },

  async "a photograph is taken, waits for the connection and is shown; then the job is closed"() {
    const folder = workshop();
    const job = "jobs/K-2041-six-speed.yaml";
    const edit = (name, change) => fs.writeFileSync(path.join(folder, name), change(fs.readFileSync(path.join(folder, name), "utf8")));
    // It is closed now, so it was opened yesterday, with tools that were calibrated a month before.
    const before = (days) => new Date(Date.now() - days * 86400000).toISOString().slice(0, 10);
    edit(job, (text) => text.replace(/^  closed:.*\n/m, "").replace("state: closed", "state: in work").replaceAll("2026-03-02", before(1)));
    edit("tools.yaml", (text) => text.replaceAll("2026-01-19", before(31)));
    const served = await serve(folder, 0, []);
    const page = await open(served, "phone");
    await page.goto(jobOf(served, job));
    const picture = await page.screenshot({ clip: { x: 0, y: 0, width: 300, height: 200 } });
    await page.context().setOffline(true);
    await page.locator("[data-shot]").setInputFiles({ name: "pan.png", mimeType: "image/png", buffer: picture });
    await page.waitForFunction(() => document.getElementById("line").textContent.includes(document.getElementById("line").dataset.shots));
    await page.context().setOffline(false);
    const image = page.locator(".picture img");
    await image.waitFor();
    await image.scrollIntoViewIfNeeded();
    await page.waitForFunction(() => document.querySelector(".picture img").naturalWidth > 0);
    await saved(page);
    const kept = fs.readdirSync(path.join(folder, "jobs/photographs"));
    assert.match(kept.join(), /^K-2041-six-speed-[0-9a-f]{12}\.jpg$/);
    assert.match(fs.readFileSync(path.join(folder, job), "utf8"), /sha256: "[0-9a-f]{64}"/);
    await accessible(page, "a photograph");
    await page.locator(".actions a", { hasText: "Close the job" }).tap();
    await page.locator("button", { hasText: "Close it now" }).tap();
    await page.waitForFunction(() => document.body.textContent.includes("This job is closed"));
    assert.match(fs.readFileSync(path.join(folder, job), "utf8"), /state: closed/);
    await served.kill();
  },

  async "what is entered without a connection is sent later, also after the page was loaded again"() {
    const folder = workshop();
    let served = await serve(folder);
    const page = await open(served);
    const job = "jobs/K-2054-still-in-work.yaml";
    await page.goto(jobOf(served, job));
    await page.context().setOffline(true);
    await enter(page, "level_check.temperature", "38");
    await enter(page, "fault_memory.after.read", "yes");
    await page.waitForFunction(() => document.getElementById("line").textContent.startsWith(document.getElementById("line").dataset.offline));
    assert.doesNotMatch(fs.readFileSync(path.join(folder, job), "utf8"), /temperature: 38 °C/);
    await page.context().setOffline(false);
    await saved(page);
    assert.match(fs.readFileSync(path.join(folder, job), "utf8"), /temperature: 38 °C/);
    // The program is killed while something waits.
    await served.kill();
    await enter(page, "road_test.done", "yes");
    await page.waitForFunction(() => document.getElementById("line").textContent.startsWith(document.getElementById("line").dataset.offline));
    served = await serve(folder, served.port);
    // The open page may go to the first page by itself at this moment, which breaks off where it is sent.
    await page.goto(served.link).catch(() => page.goto(served.link));
    await page.goto(jobOf(served, job));
    await saved(page);
    await page.waitForSelector('[data-id="road_test.done"][data-base="yes"]');
    assert.match(fs.readFileSync(path.join(folder, job), "utf8"), /done: yes/);
    await served.kill();
  },

  async "all screws are filled in at once, then the one that differs, and their order is tapped"() {
    const folder = workshop();
    const served = await serve(folder);
    const page = await open(served, "phone");
    await begin(page, "K-2102", "six-speed-sump-service");
    const all = page.locator('.alike [data-all="torque"]').first();
    const series = await all.locator("xpath=..").getAttribute("data-series");
    const screws = page.locator(`[data-of="${series}"] [data-name="torque"]`);
    const number = await screws.count();
    assert.ok(number >= 6, `${number} screws`);
    await all.locator("[data-in]").fill("10");
    await all.locator("[data-in]").blur();
    await page.waitForFunction(([series, number]) => [...document.querySelectorAll(`[data-of="${series}"] [data-name="torque"]`)].filter((one) => one.dataset.base === "10 Nm").length === number, [series, number]);
    const third = screws.nth(2);
    await third.locator("[data-in]").fill("12,5");
    await third.locator("[data-in]").blur();
    await saved(page);
    await page.waitForFunction((series) => document.querySelectorAll(`[data-of="${series}"] [data-name="torque"]`)[2].dataset.state === "held", series).catch(() => {});
    assert.equal(await third.getAttribute("data-base"), "12.5 Nm");
    const taps = page.locator("svg.tap").first().locator("[data-tap]");
    for (const at of [3, 0, 4]) await taps.nth(at).tap();
    await taps.nth(4).tap();
    await taps.nth(1).tap();
    await saved(page);
    await picture(page, "tapped");
    await accessible(page, "screws");
    const text = fs.readFileSync(path.join(folder, "jobs/K-2102.yaml"), "utf8");
    const turns = text.split("\n").filter((line) => /role: sump screw/.test(line)).map((line) => line.match(/order: (\d*)/)?.[1] ?? "");
    assert.deepEqual(turns.slice(0, 5), ["2", "3", "", "1", ""], text);
    await served.kill();
  },

  async "a job is filled in with a keyboard alone"() {
    const served = await serve(workshop());
    const page = await open(served, "desktop");
    await page.goto(jobOf(served, "jobs/K-2054-still-in-work.yaml"));
    await page.keyboard.press("Tab");
    assert.equal(await page.evaluate(() => document.activeElement.className), "skip");
    await row(page, "fault_memory.after.read").locator("button").first().focus();
    await page.keyboard.press("Space");
    await page.waitForSelector('[data-id="fault_memory.after.read"][data-base="yes"]');
    await page.keyboard.press("Tab");
    assert.notEqual(await page.evaluate(() => document.activeElement.tagName), "BODY");
    await served.kill();
  },
};

const FILLED = [
  [/^vehicle\.vin$/, "AZ1DC7TR5MG210017"], [/^vehicle\.plate$/, "GW 210 DC"], [/^vehicle\.odometer$/, "61200"],
  [/^vehicle\.high_voltage$/, "no"], [/^job\.technician$/, "Tomasz Wirth"], [/^unit\.serial$/, "0044 210"],
  [/^job\.number$/, "K-2100"], [/^vehicle\.market$/, "europe"],
  [/^cautions\.(acknowledged|raised_vehicle_supported)$/, "yes"], [/^cautions\.by$/, "T. Wirth"],
  [/^fault_memory\.\w+\.read$/, "yes"], [/^fault_memory\.\w+\.codes$/, "[]"],
  [/^fault_memory\.before\.at$/, "2026-03-30T08:10:00+02:00"], [/^fault_memory\.after\.at$/, "2026-03-30T10:50:00+02:00"],
  [/^steps\[(read fault memory|filter|drain|first stage)\]\.engine$/, "off"], [/^steps\[.*\]\.engine$/, "running"],
  [/^steps\[(read fault memory|filter)\]\.lift$/, "lowered"], [/^steps\[.*\]\.lift$/, "raised"],
  [/^fastenings\[filter cap.*torque$/, "8"], [/^fastenings.*torque$/, "45"], [/^fastenings\[filter cap.*tool$/, "T-03"],
  [/^fastenings.*\.tool$/, "T-07"], [/^fastenings.*\.new$/, "no"], [/^fastenings.*\.marked$/, "yes"],
  [/^seals.*\.(disturbed|renewed|lubricated)$/, "yes"],
  [/^filters.*\.media_\w+$/, "paper and synthetic"], [/^filters.*\.renewed$/, "yes"], [/^filters.*\.condition_removed$/, "sound"],
  [/^filters.*\.cap_(removed|fitted)$/, "B"], [/^filters.*\.cap_sound$/, "yes"], [/^filters.*\.lot$/, "GW-1"],
  [/^fluid\.product$/, "Nordal TC"], [/^fluid\.specification$/, "TC-2"], [/^fluid\.lot$/, "TC-26-0141"],
  [/^fluid\.drained\.volume$/, "5.4"], [/^fluid\.drained\.temperature$/, "48"],
  [/^fluid\.fills\[first\]\.volume$/, "4.2"], [/^fluid\.fills\[second\]\.volume$/, "1.3"], [/^fluid\.fills\[first\]\.engine$/, "off"], [/^fluid\.fills\[second\]\.engine$/, "running"],
  [/^level_check\.temperature$/, "40"], [/^level_check\.tool$/, "T-21"], [/^level_check\.engine$/, "running"],
  [/^level_check\.vehicle_level$/, "yes"], [/^level_check\.result$/, "dripping"], [/^level_check\.positions.*held$/, "4"],
  [/^used_oil\.collected$/, "yes"], [/^used_oil\.volume$/, "5.4"], [/^road_test\.done$/, "yes"], [/^road_test\.distance$/, "12"], [/^road_test\.leaks$/, "none"],
  [/^fluid\.wear_debris$/, "none"], [/^fluid\.appearance$/, "dark"], [/^fluid\.drained\.method$/, "drained"],
  [/^magnets.*cleaned$/, "yes"], [/^magnets.*place$/, "drain plug"], [/^magnets.*debris$/, "none"],
  [/^pan/, "no"],
];

let failed = 0;
for (const [name, test] of Object.entries(tests).filter(([name]) => name.includes(only))) {
  const begun = Date.now();
  try {
    await test();
    assert.deepEqual(faults.splice(0), [], "the page has errors");
    console.log(`ok    ${name} (${((Date.now() - begun) / 1000).toFixed(1)} s)`);
  } catch (error) {
    failed += 1;
    console.log(`FAILED ${name}\n${error.stack || error}`);
  }
  for (const context of browser.contexts()) await context.close();
  for (const child of running) child.kill("SIGKILL");
  running.clear();
}
await browser.close();
process.exit(failed ? 1 : 0);
