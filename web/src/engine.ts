// The engine itself, compiled to WebAssembly, answering the board's addresses inside a page.
// It is a function of what it is given: of all that its C library could ask of a system it gets
// one thing, a place to say why it stops.
import type { Answerer, Reply } from './asker';

interface Exports {
  memory: WebAssembly.Memory; _initialize?: () => void;
  wasm_room(bytes: number): number;
  wasm_load(suite: number, scene: number): number;
  wasm_ask(path: number, search: number): number;
  wasm_answer(): number; wasm_answer_bytes(): number;
}

const writer = new TextEncoder(), reader = new TextDecoder();

function world(module: WebAssembly.Module, memory: () => WebAssembly.Memory, say: (text: string) => void): WebAssembly.Imports {
  const imports: Record<string, Record<string, (...all: number[]) => number>> = {};
  for (const { module: from, name } of WebAssembly.Module.imports(module))
    (imports[from] ??= {})[name] = () => { throw new Error(`it asked for ${name}, which no page gives it`); };
  // fd_write(stream, list, count, written): each row of the list is an address and a length.
  (imports.wasi_snapshot_preview1 ??= {}).fd_write = (_stream, list, count, written) => {
    const view = new DataView(memory().buffer);
    let bytes = 0;
    for (let i = 0; i < count!; i++) {
      const at = view.getUint32(list! + 8 * i, true), length = view.getUint32(list! + 8 * i + 4, true);
      say(reader.decode(new Uint8Array(view.buffer, at, length)));
      bytes += length;
    }
    view.setUint32(written!, bytes, true);
    return 0;
  };
  return imports;
}

// One suite in one instance.  Throws when the instance has stopped: it must not be asked again.
class Instance {
  private said = '';
  private exports!: Exports;

  static async start(module: WebAssembly.Module, suite: Uint8Array, scene: string): Promise<Instance> {
    const one = new Instance();
    const running = await WebAssembly.instantiate(module,
      world(module, () => one.exports.memory, (text) => { one.said += text; }));
    one.exports = running.exports as unknown as Exports;
    one.exports._initialize?.();
    const name = writer.encode(scene);
    one.hand(suite, name);
    if (one.exports.wasm_load(suite.length, name.length) !== 200) throw new Error(one.body().error ?? 'the suite was refused');
    return one;
  }

  ask(path: string, search: string): Reply {
    const where = writer.encode(path), what = writer.encode(search);
    this.hand(where, what);
    const status = this.exports.wasm_ask(where.length, what.length);
    return { ok: status === 200, status, body: this.body() };
  }

  why(error: unknown): string {
    const last = this.said.trim().split('\n').pop();
    return last || (error instanceof Error ? error.message : String(error));
  }

  private hand(...parts: Uint8Array[]): void {
    let at = this.exports.wasm_room(parts.reduce((sum, part) => sum + part.length, 0));
    if (at === 0) throw new Error('more was handed in than the engine takes');
    for (const part of parts) {
      new Uint8Array(this.exports.memory.buffer, at, part.length).set(part); // memory may have moved: look anew
      at += part.length;
    }
  }

  private body(): { error?: string } {
    const at = this.exports.wasm_answer(), length = this.exports.wasm_answer_bytes();
    return JSON.parse(reader.decode(new Uint8Array(this.exports.memory.buffer, at, length)));
  }
}

// Answers from a fresh instance after one has stopped, so that nothing of a broken one is ever shown.
export function engineAnswerer(module: WebAssembly.Module, suite: Uint8Array, scene: string): Answerer {
  let live: Instance | null = null;
  return async (path, search) => {
    try {
      live ??= await Instance.start(module, suite, scene);
      return live.ask(path, search);
    } catch (error) {
      const why = live ? live.why(error) : String(error);
      live = null;
      return { ok: false, status: 500, body: { error: `the engine in this page stopped: ${why}`, status: 500 } };
    }
  };
}
