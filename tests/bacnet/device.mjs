// usage: device.mjs PORT INSTANCE [INTERFACE]      a BACnet/IP device on loopback, for test_wire_bacnet
// The protocol is that of the npm package node-bacnet, which shares nothing with ours.  What it holds and
// how it misbehaves is told to it on standard input, a command a line; each is answered with a line.
// It counts every service it is asked for, so that a test can see that nothing was written.
import { createRequire } from 'node:module';
import { createSocket } from 'node:dgram';
import { createInterface } from 'node:readline';

const require = createRequire(new URL('../../web/package.json', import.meta.url));
const Bacnet = require('node-bacnet');
const services = require('node-bacnet/lib/services'), asn1 = require('node-bacnet/lib/asn1');
const apdu = require('node-bacnet/lib/apdu'), npdu = require('node-bacnet/lib/npdu');

const port = Number(process.argv[2]), instance = Number(process.argv[3]);
const client = new Bacnet({ port, interface: process.argv[4] ?? '127.0.0.1', apduTimeout: 2000 });
const ALL = 0xffffffff, UNKNOWN_OBJECT = 31, UNKNOWN_PROPERTY = 32;
const asked = new Map(), objects = new Map(), subscriptions = new Map(), logs = new Map();
let mode = 'normal', argument = 0, zone_min = 60, thanked = 0, from = '', requests = 0, whois = true, last_id = 0;

const key = (o) => `${o.type}:${o.instance}`;
const count = (name) => asked.set(name, (asked.get(name) ?? 0) + 1);
const local = (ago_s = 0) => new Date(Date.now() + zone_min * 60000 - ago_s * 1000);
// The package writes a date's month from 0; the standard counts it from 1.
const date_of = (d) => ({ getFullYear: () => d.getUTCFullYear(), getMonth: () => d.getUTCMonth() + 1, getDate: () => d.getUTCDate(), getDay: () => d.getUTCDay() });
const time_of = (d) => ({ getHours: () => d.getUTCHours(), getMinutes: () => d.getUTCMinutes(), getSeconds: () => d.getUTCSeconds(), getMilliseconds: () => 0 });

function value_of(objectId, id) {
  if (objectId.type === 8 && objectId.instance === instance) {
    if (id === 62) return [{ type: 2, value: 1476 }];
    if (id === 56) return [{ type: 10, value: date_of(local()) }];
    if (id === 57) return [{ type: 11, value: time_of(local()) }];
    return UNKNOWN_PROPERTY;
  }
  const held = objects.get(key(objectId));
  return held ? held.get(id) ?? UNKNOWN_PROPERTY : UNKNOWN_OBJECT;
}

function raw(receiver, bytes) {
  const head = Buffer.from([0x81, 0x0a, (bytes.length + 6) >> 8, (bytes.length + 6) & 255, 1, 0]);
  const whole = Buffer.concat([head, Buffer.from(bytes)]);
  client._transport.send(whole, whole.length, receiver.address);
}

// From a socket of its own.
function elsewhere(bytes) {
  const socket = createSocket('udp4'), [address, to] = from.split(':');
  socket.send(Buffer.from(bytes), Number(to ?? 47808), address, () => socket.close());
}

function heard(name, content) {
  count(name);
  from = content.header.sender.address;
  last_id = content.invokeId;
  requests++;
}

client.on('whoIs', (content) => {
  count('whoIs');
  from = content.header.sender.address;
  if (mode === 'double') elsewhere([0x81, 0x0a, 0, 0x14, 1, 0, 0x10, 0, 0xc4, 2, instance >> 16, (instance >> 8) & 255, instance & 255, 0x22, 4, 0, 0x91, 3, 0x21, 42]);
  if (whois && mode !== 'silent') client.iAmResponse(content.header.sender, instance, 3, 42);
});

client.on('readProperty', (content) => {
  heard('readProperty', content);
  if (mode === 'silent') return;
  const { objectId, property } = content.payload, value = value_of(objectId, property.id);
  if (typeof value === 'number') client.errorResponse(content.header.sender, 12, content.invokeId, value === UNKNOWN_OBJECT ? 1 : 2, value);
  else client.readPropertyResponse(content.header.sender, content.invokeId, objectId, property, value);
});

function multiple(content) {
  return content.payload.properties.map(({ objectId, properties }) => ({
    objectId,
    values: properties.map((property) => {
      const value = value_of(objectId, property.id);
      return { property: { id: property.id, index: ALL }, value: typeof value === 'number'
        ? [{ value: { type: 'BacnetError', errorClass: value === UNKNOWN_OBJECT ? 1 : 2, errorCode: value } }] : value };
    }),
  }));
}

client.on('readPropertyMultiple', (content) => {
  heard('readPropertyMultiple', content);
  const to = content.header.sender, id = content.invokeId;
  const answer = () => client.readPropertyMultipleResponse(to, id, multiple(content));
  if (mode === 'silent') return;
  if (mode === 'reject') return raw(to, [0x60, id, 9]);
  if (mode === 'error') return client.errorResponse(to, 14, id, 1, UNKNOWN_OBJECT);
  if (mode === 'abort' && content.payload.properties.length > argument) return raw(to, [0x71, id, 4]);
  if (mode === 'segment' && content.payload.properties.length > argument) return raw(to, [0x3c, id, 0, 16, 14, 0x0c, 0, 0, 0, 31]);
  if (mode === 'late') return setTimeout(answer, argument);
  if (mode === 'wrong') return client.readPropertyMultipleResponse(to, (id + 7) & 255, multiple(content));
  if (mode === 'giant') client._transport.send(Buffer.alloc(argument, 0x81), argument, to.address);
  if (mode === 'broken') return raw(to, [0x30, id, 14, 0x0c, 0, 0, 0, 31, 0x1e, 0x29, 85, 0x4e, 0x44, 0x42]);
  return answer();
});

client.on('subscribeCov', (content) => {
  heard('subscribeCov', content);
  const { monitoredObjectId, subscriberProcessId, issueConfirmedNotifications, lifetime } = content.payload;
  if (mode === 'nocov') return client.errorResponse(content.header.sender, 5, content.invokeId, 5, 45);
  subscriptions.set(`${subscriberProcessId} ${key(monitoredObjectId)}`,
    { to: content.header.sender.address, process: subscriberProcessId, object: monitoredObjectId, confirmed: issueConfirmedNotifications, lifetime });
  return client.simpleAckResponse(content.header.sender, 5, content.invokeId);
});

// ---- logs ----
function record(buffer, r) {
  const put = (...bytes) => bytes.forEach((b) => { buffer.buffer[buffer.offset++] = b; });
  put(0x0e, 0xa4, r.at.getUTCFullYear() - 1900, r.at.getUTCMonth() + 1, r.at.getUTCDate(), r.at.getUTCDay() || 7);
  put(0xb4, r.at.getUTCHours(), r.at.getUTCMinutes(), r.at.getUTCSeconds(), 0, 0x0f, 0x1e);
  if (r.value === null) put(0x78);
  else asn1.encodeContextReal(buffer, 2, r.value);
  put(0x1f);
  asn1.encodeContextBitstring(buffer, 2, { bitsUsed: 4, value: [r.flags] });
}

function chosen(records, { requestType, position, time, count: wanted }) {
  if (requestType === 0) return wanted < 0 ? records.slice(Math.max(0, position + wanted), position) : records.slice(position - 1, position - 1 + wanted);
  if (requestType === 1) {
    const first = records.findIndex((r) => r.sequence === position);
    return first < 0 ? [] : records.slice(first, first + wanted);
  }
  // The package reads a month as it writes it, and a year as one of the first century.
  const month = time.getMonth(), year = time.getFullYear() + (time.getFullYear() < 1900 ? 1900 : 0) - (month === 0 ? 1 : 0);
  const after = Date.UTC(year, (month || 12) - 1, time.getDate(), time.getHours(), time.getMinutes(), time.getSeconds());
  return records.filter((r) => r.at.getTime() > after).slice(0, wanted);
}

client.on('readRange', (content) => {
  heard(`readRange-${['position', 'sequence', 'time'][content.payload.requestType]}`, content);
  if (mode === 'bypos' && content.payload.requestType !== 0) return client.errorResponse(content.header.sender, 26, content.invokeId, 5, 45);
  const { objectId } = content.payload, records = logs.get(key(objectId)) ?? [], some = chosen(records, content.payload);
  const data = { buffer: Buffer.alloc(1400), offset: 0 }, buffer = client._getBuffer(false);
  some.forEach((r) => record(data, r));
  npdu.encode(buffer, 0, content.header.sender);
  apdu.encodeComplexAck(buffer, 0x30, 26, content.invokeId);
  const flags = { bitsUsed: 3, value: [(some[0] === records[0] ? 1 : 0) | (some.at(-1) === records.at(-1) ? 2 : 0)] };
  services.readRange.encodeAcknowledge(buffer, objectId, 131, ALL, flags, some.length, data.buffer.subarray(0, data.offset),
    content.payload.requestType, some[0]?.sequence ?? 0);
  client.sendBvlc(content.header.sender, buffer);
  return undefined;
});

client.on('unhandledEvent', (content) => heard(`other${content.service}`, content));
client.on('error', (e) => { console.log(`error ${e.message}`); process.exit(1); });

// ---- commands ----
const typed = (tag, text) => {
  if (tag === 0) return { type: 0, value: null };
  if (tag === 8) return { type: 8, value: { bitsUsed: 4, value: [Number(text)] } };
  return { type: tag, value: Number(text) };
};

const commands = {
  set(type, number, property, tag, value) {
    const at = `${type}:${number}`;
    if (!objects.has(at)) objects.set(at, new Map());
    objects.get(at).set(Number(property), [typed(Number(tag), value)]);
  },
  unset(type, number, property) {
    if (property === undefined) objects.delete(`${type}:${number}`);
    else objects.get(`${type}:${number}`).delete(Number(property));
  },
  mode(name, value) { mode = name; argument = Number(value ?? 0); },
  whois(answer) { whois = answer === 'on'; },
  zone(minutes) { zone_min = Number(minutes); },
  log(type, number, ago_s, value, flags = '0') {
    const at = `${type}:${number}`, list = logs.get(at) ?? [];
    list.push({ sequence: (list.at(-1)?.sequence ?? 1000) + 1, at: local(Number(ago_s)), value: value === 'null' ? null : Number(value), flags: Number(flags) });
    logs.set(at, list);
    if (!objects.has(at)) objects.set(at, new Map());
    objects.get(at).set(141, [{ type: 2, value: list.length }]);
  },
  empty(type, number) { logs.set(`${type}:${number}`, []); },
  notify(type, number, how, value, flags) {
    let sent = 0;
    for (const s of subscriptions.values()) {
      if (key(s.object) !== `${type}:${number}`) continue;
      const values = [{ property: { id: 85 }, value: [{ type: 4, value: Number(value) }] },
        { property: { id: 111 }, value: [typed(8, flags)] }];
      if (how === 'confirmed') client.confirmedCOVNotification(s.to, s.object, s.process, instance, 60, values, {}, (e) => { if (!e) thanked++; });
      else client.unconfirmedCOVNotification(s.to, s.process, instance, s.object, 60, values);
      sent++;
    }
    return `${sent} sent`;
  },
  // From another address: bytes as they are, ID standing for the id of the last question.
  stranger(hex) {
    elsewhere(Buffer.from(hex.replace('ID', last_id.toString(16).padStart(2, '0')), 'hex'));
  },
  report() {
    const list = [...asked.entries()].map(([name, n]) => `${name}=${n}`).sort().join(' ');
    return `report ${list} thanked=${thanked} subscriptions=${subscriptions.size} requests=${requests}`;
  },
};

createInterface({ input: process.stdin }).on('line', (line) => {
  const [name, ...rest] = line.trim().split(/\s+/);
  console.log(commands[name](...rest) ?? 'ok');
}).on('close', () => process.exit(0));
client.on('listening', () => console.log('ready'));
