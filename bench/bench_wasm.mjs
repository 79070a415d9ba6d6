// usage: bench_wasm.mjs INWARD SUITE [QUESTIONS]
// One trial answer by the engine inside an exported page (node runs its WebAssembly) beside the same
// answer by the program: the same questions, in turn, so that a busy machine is busy for both.
// The program's time is what its board measures for a request; the page's is from the question to
// figures that a script can read.  Two different answers end it with 1.
import { get } from 'node:http';
import { performance } from 'node:perf_hooks';

const [inward, suite, count = '200'] = process.argv.slice(2);
process.env.INWARD = inward;
const { serve } = await import('../web/test/board.js');
const { carried, exported } = await import('../web/test/carried.js');

const began = performance.now();
const { ask } = await carried(exported(suite));
const plan = (await ask('/api/plan', '')).body;
const ready_ms = performance.now() - began;
const server = await serve(suite, '--threads', '1');
const native = (search) => new Promise((done, failed) => {
  get(`${server.url}api/air?${search}`, (r) => {
    let text = '';
    r.on('data', (d) => { text += d; });
    r.on('end', () => done({ act: JSON.parse(text).act, ms: Number(/dur=([\d.]+)/.exec(r.headers['server-timing'])[1]) }));
  }).on('error', failed);
});

const moving = plan.stations.filter((s) => s.most_m !== null && s.in_service), rows = [];
for (let i = 0; i < Number(count) + 40; i++) {
  const s = moving[i % moving.length], m = (s.parked_m + ((i * 0.037) % 1) * (s.most_m - s.parked_m)).toFixed(3);
  const search = `scene=${plan.scenes[i % plan.scenes.length].id}&sash=${s.id}=${m}m`;
  const theirs = await native(search), start = performance.now(), ours = await ask('/api/air', search);
  const ms = performance.now() - start;
  if (ours.body.act !== theirs.act) throw new Error(`${search}: ${ours.body.act}, native ${theirs.act}`);
  if (i >= 40) rows.push({ native: theirs.ms, wasm: ms, ratio: ms / theirs.ms }); // after warming up
}
await server.stop();

const at = (key, share) => rows.map((r) => r[key]).sort((a, b) => a - b)[Math.floor(share * (rows.length - 1))];
const line = (name, key, unit) => console.log(`${name.padEnd(26)} median ${at(key, 0.5).toFixed(2).padStart(7)}   p10 ${at(key, 0.1).toFixed(2).padStart(7)}   p90 ${at(key, 0.9).toFixed(2).padStart(7)} ${unit}`);
console.log(`${rows.length} trial answers of ${suite}; page ready after ${ready_ms.toFixed(0)} ms in node ${process.version}`);
line('program, one request', 'native', 'ms');
line('page, one answer', 'wasm', 'ms');
line('page / program', 'ratio', '');
