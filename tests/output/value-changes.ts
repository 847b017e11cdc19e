/** A reader of value change dumps, written from the grammar of IEEE Std 1364-2005, clause 18, apart from the writer. */

export interface Variable {
  /** With its scopes, joined by points. */
  readonly path: string;
  readonly type: string;
  readonly bits: number;
  readonly initial: number;
  /** After the initial dump, in order. */
  readonly changes: { readonly timePs: number; readonly value: number }[];
}

export interface Dump {
  readonly timescale: string;
  readonly comment: string;
  readonly fromPs: number;
  readonly toPs: number;
  readonly variables: ReadonlyMap<string, Variable>;
}

const TYPES = ['event', 'integer', 'parameter', 'real', 'realtime', 'reg', 'supply0', 'supply1', 'time', 'tri', 'wire'];
const IDENTIFIER = /^[A-Za-z_][A-Za-z0-9_$]*$/;

/** @throws Error where the text is not by the grammar, or says what it must not. */
export function readDump(text: string): Dump {
  const tokens = text.split(/\s+/).filter((token) => token !== '');
  const variables = new Map<string, Variable & { initial: number }>();
  const byPath = new Map<string, Variable>();
  const scopes: string[] = [];
  const texts = new Map<string, string>();
  let next = 0;
  const upToEnd = (): string[] => {
    const end = tokens.indexOf('$end', next);
    if (end < 0) throw new Error('a section without $end');
    const inner = tokens.slice(next, end);
    next = end + 1;
    return inner;
  };
  for (let open = true; open;) {
    const keyword = tokens[next++]!;
    const inner = upToEnd();
    switch (keyword) {
      case '$comment':
      case '$version':
      case '$date':
      case '$timescale':
        texts.set(keyword, inner.join(' '));
        break;
      case '$scope':
        if (inner.length !== 2 || inner[0] !== 'module') throw new Error(`scope ${inner.join(' ')}`);
        if (!IDENTIFIER.test(inner[1]!)) throw new Error(`name ${inner[1]}`);
        scopes.push(inner[1]!);
        break;
      case '$upscope':
        if (scopes.pop() === undefined) throw new Error('one $upscope too many');
        break;
      case '$var': {
        const [type, bits, id, name, ...rest] = inner;
        if (rest.length > 0 || !TYPES.includes(type!) || !IDENTIFIER.test(name!)) throw new Error(inner.join(' '));
        if (!/^[!-~]+$/.test(id!) || variables.has(id!)) throw new Error(`identifier ${id}`);
        const path = [...scopes, name].join('.');
        if (byPath.has(path)) throw new Error(`${path} twice`);
        const variable = { path, type: type!, bits: Number(bits), initial: Number.NaN, changes: [] };
        variables.set(id!, variable);
        byPath.set(path, variable);
        break;
      }
      case '$enddefinitions':
        open = false;
        break;
      default:
        throw new Error(`unknown section ${keyword}`);
    }
  }
  if (scopes.length > 0) throw new Error(`open scopes ${scopes.join()}`);
  let fromPs = -1;
  let nowPs = -1;
  let dumping = false;
  const last = new Map<string, number>();
  while (next < tokens.length) {
    const token = tokens[next++]!;
    if (token.startsWith('#')) {
      const timePs = Number(token.slice(1));
      if (!Number.isInteger(timePs) || timePs <= nowPs) throw new Error(`time ${token} after ${nowPs}`);
      if (fromPs < 0) fromPs = timePs;
      nowPs = timePs;
      continue;
    }
    if (token === '$dumpvars' || token === '$end') {
      dumping = token === '$dumpvars';
      continue;
    }
    const vector = token.startsWith('b');
    const id = vector ? tokens[next++]! : token.slice(1);
    const variable = variables.get(id);
    const digits = vector ? token.slice(1) : token[0]!;
    if (variable === undefined || !/^[01]+$/.test(digits) || digits.length > variable.bits) {
      throw new Error(`value ${token} of ${id}`);
    }
    const value = Number.parseInt(digits, 2);
    if (!dumping && last.get(id) === value) throw new Error(`${variable.path} does not change at ${nowPs}`);
    last.set(id, value);
    if (dumping) variable.initial = value;
    else variable.changes.push({ timePs: nowPs, value });
  }
  for (const { path, initial } of variables.values())
    if (Number.isNaN(initial)) throw new Error(`${path} has no value`);
  return {
    timescale: texts.get('$timescale')!,
    comment: texts.get('$comment') ?? '',
    fromPs,
    toPs: nowPs,
    variables: byPath,
  };
}

/** Its value at an instant, from what happens then on. */
export function valueAt({ initial, changes }: Variable, timePs: number): number {
  return changes.findLast((change) => change.timePs <= timePs)?.value ?? initial;
}
