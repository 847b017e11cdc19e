import { isAlias, isMap, isScalar, isSeq, LineCounter, parseAllDocuments } from 'yaml';
import type { Alias, Document, Node, Pair, YAMLError, YAMLMap } from 'yaml';
import type { Problem, ProblemCode } from '../errors.js';
import { problemAt } from './problem.js';
import type { Entry, MapTree, Place, ScalarTree, Tree } from './tree.js';

/** Nodes that a file may have once its aliases are written out; a few lines of anchors can stand for billions. */
const MOST_NODES = 200_000;
/** Mappings and lists within one another. */
const DEEPEST = 100;

export interface YamlReading {
  /** null where the file could not be read as a mapping. */
  readonly tree: MapTree | null;
  readonly problems: Problem[];
}

/**
 * Reads YAML into a tree with places. Where the YAML itself is wrong only that is reported, as everything else would
 * follow from it.
 */
export function readYaml(text: string, file: string): YamlReading {
  const start: Place = { file, line: 1, column: 1, path: '' };
  const refused = notText(text);
  if (refused !== null)
    return failed(problemAt(start, 'not_text', refused, null, 'write the scenario as YAML text in UTF-8'));
  const lines = new LineCounter();
  const documents = parseAllDocuments(text, { lineCounter: lines, uniqueKeys: true, logLevel: 'silent' });
  const errors = documents.flatMap((document: Document) => document.errors);
  if (errors.length > 0)
    return { tree: null, problems: errors.map((error) => syntaxProblem(error, file, lines, text)) };
  const contents = documents[0]?.contents ?? null;
  if (contents === null || (isScalar(contents) && contents.value === null)) {
    return failed(problemAt(start, 'empty_file', 'the file is empty', null, EXPECTED));
  }
  if (documents.length > 1) {
    const second = (documents[1] as Document).contents?.range?.[0] ?? 0;
    const { line, col } = lines.linePos(second);
    const place = { ...start, line, column: col };
    return failed(problemAt(place, 'syntax', 'must be one document, not several', null, `delete the '---' before it`));
  }
  return new TreeMaker(documents[0] as Document, file, lines).make(contents);
}

const EXPECTED = `write keys such as 'platform:', 'buffers:', 'masters:', 'run:'`;

function failed(problem: Problem): YamlReading {
  return { tree: null, problems: [problem] };
}

function notText(text: string): string | null {
  // oxlint-disable-next-line no-control-regex -- control characters are what is looked for
  if (/[\u0000-\u0008\u000e-\u001f]/.test(text)) return 'is not text (it has control characters)';
  return text.includes('\ufffd') ? 'is not UTF-8 text' : null;
}

const CODES = new Map<string, [ProblemCode, string]>([
  ['DUPLICATE_KEY', ['duplicate_key', 'delete one of the two']],
  ['TAB_AS_INDENT', ['syntax', 'indent with spaces']],
  ['BAD_INDENT', ['syntax', 'indent the keys of one mapping alike']],
  ['MULTILINE_IMPLICIT_KEY', ['syntax', `write each key as 'key: value' on a line of its own`]],
  ['MISSING_CHAR', ['syntax', `close every quote, bracket and brace`]],
]);

function syntaxProblem(error: YAMLError, file: string, lines: LineCounter, text: string): Problem {
  const { line, col } = lines.linePos(error.pos[0]);
  const place = { file, line, column: col, path: '' };
  const [code, hint] = CODES.get(error.code) ?? ['syntax', 'write YAML 1.2'];
  if (code === 'duplicate_key') {
    const key = /^[^:\s]+/.exec(text.slice(error.pos[0]))?.[0] ?? '';
    return problemAt({ ...place, path: key }, code, 'the key is there twice', null, hint);
  }
  if (/call stack/i.test(error.message)) {
    return problemAt(place, 'alias_limit', 'lists or mappings are nested too deeply', null, 'write them flat');
  }
  // the library's sentence ends in its own place and excerpt
  const sentence = error.message.split(/ at line \d+|:\n/)[0]!;
  return problemAt(place, code, sentence.charAt(0).toLowerCase() + sentence.slice(1), null, hint);
}

/** Thrown through the recursion when the file stands for too many nodes. */
class TooMany extends Error {
  constructor(readonly problem: Problem) {
    super();
  }
}

class TreeMaker {
  private readonly problems: Problem[] = [];
  private nodes = 0;

  constructor(
    private readonly document: Document,
    private readonly file: string,
    private readonly lines: LineCounter,
  ) {}

  make(contents: Node): YamlReading {
    try {
      const tree = this.tree(contents, this.place(contents, ''), 0);
      if (tree.kind === 'map') return { tree, problems: this.problems };
      return failed(problemAt(tree.place, 'not_a_mapping', 'must be a mapping of keys', null, EXPECTED));
    } catch (error) {
      if (error instanceof TooMany) return failed(error.problem);
      throw error;
    }
  }

  private tree(node: Node | null, place: Place, depth: number): Tree {
    if (++this.nodes > MOST_NODES) {
      throw new TooMany(
        problemAt(
          place,
          'alias_limit',
          `anchors and aliases expand to more than ${MOST_NODES} values`,
          null,
          'use fewer',
        ),
      );
    }
    if (depth > DEEPEST) {
      throw new TooMany(problemAt(place, 'alias_limit', `is nested more than ${DEEPEST} deep`, null, 'write it flat'));
    }
    if (isAlias(node)) return this.aliased(node, place, depth);
    if (isMap(node)) return this.map(node, place, depth);
    if (isSeq(node)) {
      const items = node.items.map((item, i) => {
        const child = item as Node;
        return this.tree(child, this.place(child, `${place.path}[${i}]`, place), depth + 1);
      });
      return { kind: 'list', place, items };
    }
    return this.scalar(node, place);
  }

  private aliased(node: Alias, place: Place, depth: number): Tree {
    const target = node.resolve(this.document);
    if (target !== undefined) return this.tree(target, place, depth + 1);
    this.problems.push(
      problemAt(place, 'unknown_name', 'unknown anchor', `*${node.source}`, `write '&${node.source}' before it`),
    );
    return { kind: 'scalar', place, value: null, text: '' };
  }

  private map(node: YAMLMap, place: Place, depth: number): MapTree {
    const entries = new Map<string, Entry>();
    for (const pair of node.items as Pair<Node, Node | null>[]) {
      const name = isScalar(pair.key) ? String(isNumberText(pair.key.source) ?? pair.key.value) : null;
      const path = name === null ? place.path : joined(place.path, name);
      const key = this.place(pair.key, path, place);
      if (name === '<<') {
        this.spread(pair.value, entries, node, key, depth);
        continue;
      }
      if (name === null || name === '__proto__') {
        this.problems.push(problemAt(key, 'bad_name', 'a key must be a plain word', name, 'write another name'));
        continue;
      }
      entries.set(name, { key, tree: this.tree(pair.value, this.place(pair.value, path, key), depth + 1) });
    }
    return { kind: 'map', place, entries };
  }

  /** `<<: *anchor` takes over the keys of other mappings, but for those that are written here or came before. */
  private spread(value: Node | null, entries: Map<string, Entry>, at: YAMLMap, key: Place, depth: number): void {
    const place = { ...key, path: key.path.replace(/\.?<<$/, '') };
    const source = this.tree(value, this.place(value, place.path, place), depth + 1);
    for (const tree of source.kind === 'list' ? source.items : [source]) {
      if (tree.kind !== 'map') {
        this.problems.push(problemAt(key, 'wrong_type', `'<<' must name mappings`, null, `write e.g. '<<: *anchor'`));
        continue;
      }
      for (const [name, entry] of tree.entries) if (!entries.has(name) && !at.has(name)) entries.set(name, entry);
    }
  }

  private scalar(node: Node | null, place: Place): ScalarTree {
    if (!isScalar(node)) return { kind: 'scalar', place, value: null, text: '' };
    const { value } = node;
    const text = node.source ?? String(value);
    // an address in hexadecimal stays text: the base says what it is, as a unit would
    if (typeof value === 'number' && /^0x/i.test(text)) return { kind: 'scalar', place, value: text, text };
    if (typeof value === 'number' || typeof value === 'boolean' || value === null) {
      return { kind: 'scalar', place, value, text };
    }
    return { kind: 'scalar', place, value: typeof value === 'string' ? value : text, text };
  }

  private place(node: Node | null, path: string, otherwise?: Place): Place {
    const offset = node?.range?.[0];
    if (offset === undefined) return { ...(otherwise ?? { file: this.file, line: 1, column: 1 }), path };
    const { line, col } = this.lines.linePos(offset);
    return { file: this.file, line, column: col, path };
  }
}

function joined(path: string, key: string): string {
  return path === '' ? key : `${path}.${key}`;
}

/** A key such as `010` is a name, not the number ten. */
function isNumberText(source: string | undefined): string | undefined {
  return source !== undefined && /^[\d.]+$/.test(source) ? source : undefined;
}
