// usage: node bench_serve.mjs INWARD SUITE [REQUESTS]
// How long the board takes over one question while someone drags a sash: every request asks
// about a scene not asked before.  "handling" is what the server itself measures, from the whole
// request to the whole answer; "round trip" is what a client on this machine sees.
// Targets: handling p99 under 2 ms, round trip median under 8 ms.  A missed target is printed, and ends with 1.
import { spawn } from 'node:child_process';
import { Agent, get } from 'node:http';

const [inward, suite, count = '400'] = process.argv.slice(2);
const child = spawn(inward, ['serve', suite, '--scene', 'busy', '--port', '0'], { stdio: ['ignore', 'pipe', 'inherit'] });
const url = await new Promise((found) => child.stdout.on('data', (d) => found(/http:\S+/.exec(String(d))[0])));
const agent = new Agent({ keepAlive: true, maxSockets: 1 });

const ask = (path) => new Promise((done, failed) => {
  const began = process.hrtime.bigint();
  get(url + path, { agent }, (r) => {
    let bytes = 0;
    r.on('data', (d) => { bytes += d.length; });
    r.on('end', () => done({ status: r.statusCode, bytes, trip: Number(process.hrtime.bigint() - began) / 1e6,
      handling: Number(/dur=([\d.]+)/.exec(r.headers['server-timing'])[1]) }));
  }).on('error', failed);
});

const { stations } = JSON.parse(await new Promise((done) => get(`${url}api/plan`, (r) => {
  let text = '';
  r.on('data', (d) => { text += d; });
  r.on('end', () => done(text));
})));
const moving = stations.filter((s) => s.most_m !== null && s.in_service);
const all = [];
for (let i = 0; i < Number(count); i++) {
  const s = moving[i % moving.length], steps = Math.round((s.most_m - s.parked_m) * 100);
  const cm = s.parked_m * 100 + 1 + (Math.floor(i / moving.length) * 7) % steps;
  const got = await ask(`api/air?scene=busy&sash=${s.id}=${(cm / 100).toFixed(3)}m`);
  if (got.status !== 200) throw new Error(`status ${got.status}`);
  if (i >= moving.length) all.push(got);
}
child.kill();
agent.destroy();

const at = (list, share) => list.sort((a, b) => a - b)[Math.min(list.length - 1, Math.floor(share * list.length))];
const row = (name, list, share, target) => {
  const value = at(list, share);
  console.log(`${name.padEnd(24)} ${value.toFixed(2).padStart(8)} ms   target ${target} ms   ${value < target ? 'met' : 'MISSED'}`);
};
const handling = all.map((g) => g.handling), trip = all.map((g) => g.trip);
console.log(`${all.length} scenes of ${suite}; answers of ${Math.round(all[0].bytes / 1024)} KiB; one client`);
console.log(`handling  min ${at(handling, 0).toFixed(2)}  median ${at(handling, 0.5).toFixed(2)}  p90 ${at(handling, 0.9).toFixed(2)}  max ${at(handling, 1).toFixed(2)} ms`);
// A target missed is said, not failed: a busy machine must not look like a broken program.
row('handling p99', handling, 0.99, 2);
row('round trip median', trip, 0.5, 8);
