import { describe, expect, it } from 'vitest';
import { placesOf, problemsOf, read, SMALL } from './reading.js';

describe('what is not a scenario at all', () => {
  it('an empty file, and one of comments only, is told as empty', () => {
    for (const text of ['', '   \n', '# nothing yet\n', '---\n']) expect(placesOf(text)).toEqual(['1:1 empty_file ']);
  });

  it('a list or a word is told to be no mapping', () => {
    expect(placesOf('- a\n- b\n')).toEqual(['1:1 not_a_mapping ']);
    expect(placesOf('hello\n')).toEqual(['1:1 not_a_mapping ']);
  });

  it('a binary file is told as that, as text and as bytes', () => {
    expect(placesOf('platform: \u0000\u0001')).toEqual(['1:1 not_text ']);
    expect(placesOf(Uint8Array.from([0x50, 0x4b, 0x03, 0x04, 0xff, 0xfe]))).toEqual(['1:1 not_text ']);
    expect(placesOf(Uint8Array.from([0x61, 0x3a, 0x20, 0xe9, 0x0a]))).toEqual(['1:1 not_text ']);
  });

  it('a byte order mark is no problem', () => {
    expect(read(new TextEncoder().encode(`\ufeff${SMALL}`)).systems).toHaveLength(1);
  });

  it('a second document is refused at its place', () => {
    expect(problemsOf(`${SMALL}---\ntitle: x\n`).map(({ code, line }) => [code, line])).toEqual([['syntax', 15]]);
  });
});

describe('YAML that is wrong', () => {
  it('only the mistakes of YAML are told, as the others would follow from them', () => {
    expect(placesOf('platform:\n  bogus: [1, 2\nmasters: 5\n').every((place) => place.includes(' syntax '))).toBe(true);
  });

  it('a tab that indents is told at its line', () => {
    expect(placesOf('run:\n\tseed: 1\n')[0]).toBe('2:1 syntax ');
  });

  it('anchors that explode are refused at once', () => {
    const levels = 'bcdefghij'.split('').map((name, i) => {
      const before = 'abcdefghij'[i]!;
      return `${name}: &${name} [${Array.from({ length: 9 }, () => `*${before}`).join(', ')}]`;
    });
    const text = ['a: &a [x, x, x, x, x, x, x, x, x]', ...levels].join('\n');
    const before = performance.now();
    expect(problemsOf(text).map(({ code }) => code)).toEqual(['alias_limit']);
    expect(performance.now() - before).toBeLessThan(5000);
  });

  it('an anchor within itself is refused', () => {
    expect(problemsOf('a: &a { b: *a }\n').map(({ code }) => code)).toEqual(['alias_limit']);
  });

  it('an alias without anchor is told', () => {
    expect(problemsOf('a: *nowhere\n')[0]!.line).toBe(1);
  });

  it('nesting without end is refused, not a stack that overflows', () => {
    for (const depth of [150, 5000]) {
      const problems = problemsOf(`a: ${'['.repeat(depth)}${']'.repeat(depth)}\n`);
      expect(problems.map(({ code }) => code)).toEqual(['alias_limit']);
      expect(problems[0]!.message).toContain('nested');
    }
  });

  it('merge keys take over what is not written', () => {
    const text = SMALL.replace('camera: {', 'camera: &c {').concat('  second: { <<: *c, qos: 3, operations: read }\n');
    const [, second] = read(text).systems[0]!.masters;
    expect([second!.qos, second!.readShare, second!.buffer]).toEqual([3, 1, 'lines']);
  });
});
