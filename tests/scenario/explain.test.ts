import { describe, expect, it } from 'vitest';
import { UsageError } from '../../src/errors.js';
import { explainKey, jsonSchema, keyReference } from '../../src/scenario/explain.js';
import { keyFacts } from '../../src/scenario/key-facts.js';

describe('facts of keys', () => {
  const facts = keyFacts();

  it('every key has a meaning and a type', () => {
    const bare = facts.filter(({ path, about, kind }) => !path.endsWith('NAME') && (about === '' || kind === ''));
    expect(bare.map(({ path }) => path)).toEqual([]);
  });

  it('every key that takes a value of its own has an example', () => {
    const without = facts.filter(
      ({ example, children, path }) => example === '' && children.length === 0 && !path.endsWith('NAME'),
    );
    expect(without.map(({ path }) => path).filter((path) => !path.startsWith('placements.NAME.'))).toEqual([]);
  });
});

describe('explain', () => {
  it('tells type, unit, default and an example', () => {
    expect(explainKey('masters.burst').split('\n')).toEqual([
      'masters.NAME.burst',
      '  Most beats of a burst (AXI4 INCR); longer requests are cut.',
      '  type     number of beats',
      '  unit     beats, beat',
      '  default  16 beats',
      '  example  burst: 16 beats',
    ]);
  });

  it('finds a key by its path with a name, without one, and by its end', () => {
    const card = explainKey('masters.NAME.burst');
    expect([explainKey('masters.camera.burst'), explainKey('masters.burst'), explainKey('burst')]).toEqual([
      card,
      card,
      card,
    ]);
  });

  it('lists the keys of a block, and the blocks of a file', () => {
    expect(explainKey('platform.ports')).toMatch(/\n {4}write_start +Is a write/);
    expect(explainKey('')).toContain('    placements  ');
  });

  it('lists the keys of one name where there are several', () => {
    expect(explainKey('rate')).toContain('masters.NAME.issue.rate');
    expect(explainKey('rate')).toContain('platform.ports.NAME.regulator.rate');
  });

  it('names the nearest key for an unknown one', () => {
    expect(() => explainKey('masters.brust')).toThrow(UsageError);
    expect(() => explainKey('masters.brust')).toThrow(`did you mean 'masters.burst'?`);
    expect(() => explainKey('outstandign')).toThrow(/outstanding/);
  });
});

describe('the key reference', () => {
  it('mentions every key, distributions and arbitration once', () => {
    const text = keyReference();
    for (const { path, about } of keyFacts()) {
      if (about === '' || /\.(uniform|exponential|geometric|lognormal|table)(\.|$)|\.arbitration\./.test(path))
        continue;
      expect(text).toContain(`| \`${path}\` |`);
    }
    for (const word of ['uniform', 'exponential.mean', 'geometric.unit', 'lognormal.spread', 'table']) {
      expect(text).toContain(`masters.NAME.size.${word}`);
    }
    expect(text).toContain('arbitration.ageing');
  });

  it('is a table of six columns throughout', () => {
    const rows = keyReference()
      .split('\n')
      .filter((line) => line.startsWith('|'));
    for (const row of rows) expect(row.replaceAll('\\|', '').split('|')).toHaveLength(8);
  });
});

describe('the JSON Schema', () => {
  const schema = jsonSchema() as {
    $schema: string;
    properties: Record<string, unknown>;
    $defs: Record<string, unknown>;
  };

  it('is of a known draft, and has the blocks of a file', () => {
    expect(schema.$schema).toBe('https://json-schema.org/draft/2020-12/schema');
    expect(Object.keys(schema.properties)).toEqual([
      'title',
      'platform',
      'buffers',
      'masters',
      'tasks',
      'budgets',
      'compare',
      'place',
      'run',
      'placements',
    ]);
  });

  it('refers to nothing that is not there, and requires nothing, as a file is one of several layers', () => {
    const text = JSON.stringify(schema);
    for (const [, name] of text.matchAll(/"\$ref":"#\/\$defs\/([^"]+)"/g)) expect(schema.$defs).toHaveProperty([name!]);
    expect(text).not.toContain('"required"');
  });

  it('tells editors what a key means, with an example', () => {
    expect(JSON.stringify(schema)).toContain(
      '"description":"Most beats of a burst (AXI4 INCR); longer requests are cut."',
    );
    expect(JSON.stringify(schema)).toContain('"examples":["16 beats"]');
  });
});
