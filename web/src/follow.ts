// One stream for all pages of a browser: HTTP/1.1 gives a host six connections, and a stream keeps one.
// Runs as a shared worker; pages speak to it through stream.ts.
export {};

interface Port { postMessage(message: unknown): void; onmessage: ((e: MessageEvent) => void) | null }

const ports = new Set<Port>();
let source: EventSource | null = null, last: string | null = null;

const tell = (message: unknown) => { for (const port of ports) port.postMessage(message); };

function open(): void {
  if (source) return;
  source = new EventSource('/api/stream');
  source.addEventListener('live', (e) => { last = (e as MessageEvent<string>).data; tell({ view: last }); });
  source.addEventListener('here', () => { tell({ here: true }); });
  source.onerror = () => {
    last = null; // what was known is no longer: a page that comes now must not be given it
    if (source?.readyState !== EventSource.CLOSED) return; // it tries again by itself
    source = null;
    setTimeout(open, 3000);
  };
}

(globalThis as unknown as { onconnect: (e: MessageEvent) => void }).onconnect = (e) => {
  const port = e.ports[0] as unknown as Port;
  ports.add(port);
  port.onmessage = (m) => { if (m.data === 'bye') ports.delete(port); };
  if (last !== null) port.postMessage({ view: last });
  open();
};
