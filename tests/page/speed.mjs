// How fast the page at the bench is with many jobs around: node tests/page/speed.mjs PROGRAM EXAMPLES [JOBS] [TABLETS]
// From a key to the verdict that the page shows is what /try takes and what the browser takes to show it; the second is
// measured by the tests in the browser and not here.
import { spawn } from "node:child_process";
import fs from "node:fs";
import http from "node:http";
import os from "node:os";
import path from "node:path";

const [program, examples, jobs = "10000", tablets = "20"] = process.argv.slice(2);
const folder = fs.mkdtempSync(path.join(os.tmpdir(), "bench-speed-"));
fs.cpSync(examples, folder, { recursive: true });
const model = fs.readFileSync(path.join(examples, "jobs/K-2044-twin-clutch.yaml"), "utf8");
const days = (number) => new Date(Date.UTC(2026, 0, 5) + (number % 80) * 86400000).toISOString().slice(0, 10);
for (let number = 0; number < Number(jobs); number += 1) {
  const text = model.replace("K-2044", `K-${30000 + number}`).replace("AZ1KW31B5LG077420", `AZ1KW31B5LG${String(100000 + number)}`).replace("GW 240 LK", `GW ${number} Z`).replaceAll("2026-03-03", days(number));
  fs.writeFileSync(path.join(folder, `jobs/A-${number}.yaml`), text.replace("state: closed", number % 50 ? "state: closed" : "state: in work").replace(number % 50 ? "\u0000" : /  closed: .*\n/, ""));
}

const started = performance.now();
const child = spawn(program, ["bench", folder, "--port", "0", "--as-of", "2026-03-31"], { stdio: ["ignore", "pipe", "inherit"] });
process.on("exit", () => { child.kill("SIGKILL"); fs.rmSync(folder, { recursive: true, force: true }); });
const link = await new Promise((found) => { let said = ""; child.stdout.on("data", (text) => { said += text; const link = said.match(/http:\S+/); if (link) found(link[0]); }); });
console.log(`ready with ${jobs} jobs after ${((performance.now() - started) / 1000).toFixed(1)} s`);

const { hostname, port, pathname } = new URL(link);
const agent = new http.Agent({ keepAlive: true, maxSockets: 64 });
let cookie = "", token = "";
const ask = (method, where, body) => new Promise((done, failed) => {
  const headers = { cookie, host: `${hostname}:${port}` };
  if (method === "POST") Object.assign(headers, { origin: `http://${hostname}:${port}`, "x-bench-token": token, "content-type": "application/json", "content-length": Buffer.byteLength(body) });
  const request = http.request({ hostname, port, agent, method, path: where, headers }, (answer) => { const parts = []; answer.on("data", (part) => parts.push(part)); answer.on("end", () => done({ status: answer.statusCode, head: answer.headers, body: Buffer.concat(parts) })); });
  request.on("error", failed);
  request.end(body);
});
cookie = (await ask("GET", pathname)).head["set-cookie"][0].split(";")[0];
token = (await ask("GET", "/")).body.toString().match(/name="token" content="([^"]+)"/)[1];
const memory = () => Number(fs.readFileSync(`/proc/${child.pid}/status`, "utf8").match(/VmRSS:\s+(\d+)/)[1]) / 1024;
const told = (what, times) => { times.sort((a, b) => a - b); const at = (share) => times[Math.min(times.length - 1, Math.floor(times.length * share))].toFixed(1); console.log(`${what.padEnd(58)} ${String(times.length).padStart(6)} ${at(0.5).padStart(8)} ${at(0.99).padStart(8)} ms`); };
const timed = async (act) => { const begun = performance.now(); await act(); return performance.now() - begun; };

const one = "jobs/A-50.yaml";
const first = await ask("GET", "/job?job=" + one);
const day = await ask("GET", "/");
const assets = (await Promise.all(["bench.css", "bench.js", "mark.svg"].map((name) => ask("GET", "/assets/" + name)))).reduce((sum, got) => sum + got.body.length, 0);
console.log(`bytes: the list ${day.body.length}, a job ${first.body.length}, style and script ${assets}`);
console.log(`${"".padEnd(58)} ${"number".padStart(6)} ${"median".padStart(8)} ${"99 %".padStart(8)}`);
const key = (job, number) => ask("POST", "/try", JSON.stringify({ job, changes: [{ row: "level_check.temperature", base: "41 °C", value: `${30 + (number % 20)}` + " °C" }] }));
const times = [];
for (let number = 0; number < 300; number += 1) times.push(await timed(() => key(one, number)));
told("a key, one tablet", times.splice(0));
for (let number = 0; number < 100; number += 1) times.push(await timed(() => ask("GET", "/?q=GW+77")));
told("the list, searched", times.splice(0));
const bases = new Map();
const enter = async (job, number) => {
  const base = bases.get(job) ?? "41 °C";
  const value = `${35 + (number % 10)} °C`;
  const got = await ask("POST", "/change", JSON.stringify({ job, changes: [{ row: "level_check.temperature", base, value }] }));
  const result = JSON.parse(got.body).results[0];
  if (result.became !== "written") throw new Error(JSON.stringify(result));
  bases.set(job, result.now);
};
for (let number = 0; number < 100; number += 1) times.push(await timed(() => enter(one, number)));
told("a value entered, written to disk, one tablet", times.splice(0));
const many = Array.from({ length: Number(tablets) }, (_, number) => `jobs/A-${number * 50}.yaml`);
await Promise.all(many.map(async (job) => {
  for (let number = 0; number < 60; number += 1) {
    times.push(await timed(() => key(job, number)));
    await new Promise((later) => setTimeout(later, 200 + Math.random() * 200));
  }
}));
told(`a key, ${tablets} tablets that type three or four a second`, times.splice(0));
await Promise.all(many.map(async (job) => {
  for (let number = 0; number < 10; number += 1) {
    times.push(await timed(() => enter(job, number)));
    await new Promise((later) => setTimeout(later, 500 + Math.random() * 1000));
  }
}));
told(`a value entered, ${tablets} tablets`, times.splice(0));
console.log(`memory ${memory().toFixed(0)} MiB`);
process.exit(0);
