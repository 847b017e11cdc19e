import type { Problem } from '../errors.js';
import type { ElementBlock, Parsed, ParsedSystem } from './parse-system.js';
import { problemAt } from './problem.js';
import { suggestion } from './suggestion.js';
import { child, textOf, type Tree } from './tree.js';

/**
 * Reports names that nothing bears, or something of the wrong kind. It looks at what is written, so that an entry with
 * another mistake is checked all the same.
 */
export function checkReferences(system: ParsedSystem, problems: Problem[]): void {
  new Checker(system, problems).check();
}

class Checker {
  private readonly clocks: Set<string>;
  private readonly blocks: Map<string, ElementBlock>;
  private readonly buffers: Set<string>;

  constructor(
    private readonly system: ParsedSystem,
    private readonly problems: Problem[],
  ) {
    this.clocks = new Set(system.clocks.map(({ name }) => name));
    this.blocks = new Map(system.elements.map(({ name, block }) => [name, block]));
    this.buffers = new Set(system.buffers.map(({ name }) => name));
  }

  check(): void {
    const seen = new Set<string>();
    for (const element of this.system.elements) {
      if (seen.has(element.name)) this.add(element, 'name_clash', 'two elements must not have one name', 'rename one');
      seen.add(element.name);
      this.checkElement(element);
    }
    for (const buffer of this.system.buffers) {
      this.demand(child(buffer.tree, 'memory'), 'memory or device', this.namesOf('memories', 'devices'));
    }
    for (const master of this.system.masters) {
      // both are inputs of arbiters, which know them by name
      if (seen.has(master.name)) this.add(master, 'name_clash', 'an element has this name', 'rename one');
      this.checkMaster(master);
    }
  }

  private checkElement({ name, tree, block }: ParsedSystem['elements'][number]): void {
    this.demandClock(child(tree, 'clock'), block === 'devices');
    const to = child(tree, 'to');
    if (block === 'memories' || block === 'devices' || to === undefined) return;
    const targets = to.kind === 'list' ? to.items : [to];
    const before = new Set<string>();
    for (const target of targets) {
      this.demand(
        target,
        'element',
        this.namesOf('switches', 'coherence', 'memories', 'devices', 'ports').filter((own) => own !== name),
      );
      const written = textOf(target);
      if (written === undefined) continue;
      if (before.has(written))
        this.problems.push(problemAt(target.place, 'conflict', 'must not be there twice', written, 'delete one'));
      before.add(written);
    }
  }

  private checkMaster({ tree }: Parsed<unknown>): void {
    this.demandClock(child(tree, 'clock'), true);
    this.demand(child(tree, 'buffer'), 'buffer', [...this.buffers]);
    const attach = child(tree, 'attach');
    const isCore = child(tree, 'core') !== undefined;
    const usable = isCore ? this.namesOf('coherence') : this.namesOf('ports', 'devices');
    const block = this.blocks.get(textOf(attach) ?? '');
    if (attach === undefined || block === undefined || usable.includes(textOf(attach)!)) {
      this.demand(attach, isCore ? 'coherence unit' : 'port or device', usable);
      return;
    }
    const rule = isCore ? 'a core must be attached to a coherence unit' : 'must be a port or device';
    const hint = block === 'coherence' ? `make it a core ('core: yes') or use a port` : suggestion('', usable);
    this.problems.push(problemAt(attach.place, 'conflict', rule, textOf(attach)!, hint));
  }

  private demandClock(tree: Tree | undefined, orNone: boolean): void {
    if (orNone && textOf(tree) === 'none') return;
    this.demand(tree, 'clock', [...this.clocks]);
  }

  /** Text that must be one of the names; what is not text is for the schema to say. */
  private demand(tree: Tree | undefined, what: string, known: readonly string[]): void {
    const name = textOf(tree);
    if (tree === undefined || name === undefined || known.includes(name)) return;
    this.problems.push(
      problemAt(tree.place, 'unknown_name', `unknown ${what} '${name}'`, name, suggestion(name, known)),
    );
  }

  private namesOf(...blocks: ElementBlock[]): string[] {
    return [...this.blocks].filter(([, block]) => blocks.includes(block)).map(([name]) => name);
  }

  private add({ key, name }: Parsed<unknown>, code: Problem['code'], message: string, hint: string): void {
    this.problems.push(problemAt(key, code, message, name, hint));
  }
}
