// usage: bench_bacnet.mjs BENCH_BACNET [ROUNDS]
// One answer to ReadPropertyMultiple (24 objects, four properties each), written by the npm package
// node-bacnet, read by it and by ours, from the datagram to the values, in turn, so that a busy machine
// is busy for both.  Two different sums end it with 1.
import { spawnSync } from 'node:child_process';
import { createRequire } from 'node:module';
import { performance } from 'node:perf_hooks';

const require = createRequire(new URL('../web/package.json', import.meta.url));
const lib = (name) => require(`node-bacnet/lib/${name}`);
const { readPropertyMultiple } = lib('services'), bvlc = lib('bvlc'), npdu = lib('npdu'), apdu = lib('apdu');
const ALL = 0xffffffff, [program, rounds = '20000'] = process.argv.slice(2);

const values = Array.from({ length: 24 }, (_, i) => ({
  objectId: { type: 0, instance: 1000 + i },
  values: [[85, { type: 4, value: 14.5 + i }], [111, { type: 8, value: { bitsUsed: 4, value: [i % 16] } }],
    [103, { type: 9, value: i % 3 }], [117, { type: 9, value: 53 }]]
    .map(([id, value]) => ({ property: { id, index: ALL }, value: [value] })),
}));
const out = { buffer: Buffer.alloc(1500), offset: 4 };
npdu.encode(out, 0);
apdu.encodeComplexAck(out, 0x30, 14, 7);
readPropertyMultiple.encodeAcknowledge(out, values);
bvlc.encode(out.buffer, 0x0a, out.offset);
const datagram = out.buffer.subarray(0, out.offset);

function theirs_once() {
  let at = bvlc.decode(datagram, 0).len, sum = 0;
  at += npdu.decode(datagram, at).len;
  at += apdu.decodeComplexAck(datagram, at).len;
  for (const object of readPropertyMultiple.decodeAcknowledge(datagram, at, datagram.length - at).values)
    for (const property of object.values)
      sum += property.value[0].type === 8 ? property.value[0].value.value[0] : property.value[0].value;
  return sum;
}

function theirs(n) {
  let sum = 0;
  const start = performance.now();
  for (let i = 0; i < n; i++) sum += theirs_once();
  return { ns: (performance.now() - start) * 1e6 / n, sum: sum / n };
}

function ours(n) {
  const run = spawnSync(program, [String(n)], { input: datagram, encoding: 'utf8' });
  const [ns, sum] = run.stdout.trim().split(' ').map(Number);
  return { ns, sum };
}

theirs(5000); // warm
const rows = [];
for (let i = 0; i < 9; i++) {
  const a = theirs(Number(rounds) / 10), b = ours(Number(rounds));
  if (Math.abs(a.sum - b.sum) > 1e-6) {
    console.log(`the sums differ: theirs ${a.sum}, ours ${b.sum}`);
    process.exit(1);
  }
  rows.push({ theirs: a.ns, ours: b.ns, ratio: a.ns / b.ns });
}
const at = (key, share) => rows.map((r) => r[key]).sort((x, y) => x - y)[Math.round(share * (rows.length - 1))];
const line = (name, key, digits, unit) => console.log(`${name.padEnd(26)} median ${at(key, 0.5).toFixed(digits).padStart(9)}   least ${at(key, 0).toFixed(digits).padStart(9)}   most ${at(key, 1).toFixed(digits).padStart(9)} ${unit}`);
console.log(`an answer of ${datagram.length} bytes, 96 properties; node ${process.version}`);
line('node-bacnet', 'theirs', 0, 'ns an answer');
line('ours', 'ours', 0, 'ns an answer');
line('theirs / ours', 'ratio', 1, '');
console.log(`ours: ${(96e3 / at('ours', 0.5)).toFixed(1)} million properties a second`);
