// docs/suite.schema.json as an editor uses it: YAML in, underlined keys out.
import assert from 'node:assert/strict';
import { readFileSync, readdirSync, existsSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { test } from 'node:test';
import Ajv2020 from 'ajv/dist/2020.js';
import { parse } from 'yaml';
import { paperOnly, quillmere, root, suite } from './board.js';

const schemaFile = join(root, 'docs', 'suite.schema.json');
const schema = JSON.parse(readFileSync(schemaFile, 'utf8'));
const check = new Ajv2020({ allErrors: true, strict: true, strictTypes: false, strictRequired: false, validateFormats: false }).compile(schema);
const faults = (text) => (check(parse(text)) ? [] : check.errors.map((e) => `${e.instancePath} ${e.message}`));

// Every suite and overlay that the project keeps and that is meant to be right.
const cases = join(root, 'tests', 'golden', 'cases');
const overlays = ['air_overlay', 'check_overlay'].map((c) => join(cases, c, 'change.yaml')).filter(existsSync);
for (const file of [quillmere, paperOnly, suite, ...overlays])
  test(`an editor underlines nothing in ${file.slice(root.length + 1)}`, () => assert.deepEqual(faults(readFileSync(file, 'utf8')), []));

test('every example that inward itself accepts is accepted', () => {
  const good = readdirSync(cases).filter((c) => /^air_/.test(c)).map((c) => join(cases, c, 'suite.yaml')).filter(existsSync);
  assert.ok(good.length > 5);
  for (const file of good) assert.deepEqual(faults(readFileSync(file, 'utf8')), [], file);
});

test('the examples name the schema in the comment that YAML editors read, and it is there', () => {
  for (const file of [quillmere, paperOnly]) {
    const named = /^# yaml-language-server: \$schema=(\S+)$/m.exec(readFileSync(file, 'utf8').split('\n')[0]);
    assert.ok(named, file);
    assert.equal(resolve(dirname(file), named[1]), schemaFile);
  }
});

const start = 'inward: 1 suite\nrooms: {Wet: {}}\nmains: {House: {}}\nstations:\n  S1: {kind: fume hood, room: Wet, main: House, flow: {constant: 900 m3/h}}\n';
test('a whole small suite has no fault', () => assert.deepEqual(faults(start), []));
for (const [what, text] of [
  ['a misspelt section', start + 'staions: {}\n'],
  ['a misspelt key of a part', start.replace('kind:', 'kindd:')],
  ['a required key left out', start.replace('room: Wet, ', '')],
  ['a kind that does not exist', start.replace('fume hood', 'fume cupboardd')],
  ['a word where a quantity stands', start.replace('900 m3/h', 'plenty')],
  ['an id that is none', start.replace('S1:', '1S:')],
  ['another version', start.replace('1 suite', '2 suite')],
  ['no first key', start.replace('inward: 1 suite\n', '')],
  ['an overlay that adds half a station', 'inward: 1 overlay\nadd: {stations: {S2: {kind: fume hood}}}\n'],
  ['an overlay that changes a key that is none', 'inward: 1 overlay\nchange: {stations: {S1: {flwo: {constant: 900 m3/h}}}}\n'],
  ['an overlay with a section at its top', 'inward: 1 overlay\nstations: {}\n'],
  ['an overlay that removes a map', 'inward: 1 overlay\nremove: {S1: {}}\n'],
  ['a feeds file with a station', 'inward: 1 feeds\nsources: {}\npoints: {}\nstations: {}\n'],
  ['a table without its separator', 'inward: 1 feeds\nsources: {T: {csv: {decimal: comma, time: T, pattern: ISO, zone: UTC}}}\npoints: {}\n'],
  ['a point of a kind that does not exist', 'inward: 1 feeds\nsources: {H: {hand: {}}}\npoints: {P: {of: A1, what: sahs, from: H}}\n'],
])
  test(`an editor underlines ${what}`, () => assert.notDeepEqual(faults(text), []));

test('an overlay may change one key of a part, and of a part inside it', () => {
  assert.deepEqual(faults('inward: 1 overlay\nchange: {stations: {S1: {flow: {constant: 900 m3/h}}}, site: {altitude: 0 m}}\n'), []);
  assert.deepEqual(faults('inward: 1 overlay\nchange: {supplies: {MU: {feeds: {Wet: {most: 900 m3/h}}}}}\nremove: [S3, L2]\n'), []);
});

test('the examples of the manual are right', () => {
  for (const page of ['suite-file.md', 'feeds-file.md']) {
    const manual = readFileSync(join(root, 'docs', page), 'utf8');
    const whole = [...manual.matchAll(/```yaml\n(inward: [\s\S]*?)```/g)].map((m) => m[1]);
    assert.ok(whole.length > 0, page);
    for (const text of whole) assert.deepEqual(faults(text), [], text);
  }
});
