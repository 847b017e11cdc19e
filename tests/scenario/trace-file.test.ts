import { describe, expect, it } from 'vitest';
import { at, changed, placesOf, problemsOf, read } from './reading.js';

const HEADER = 'time_ns,operation,address,bytes';
const SCENARIO = changed('issue: greedy', 'issue: { process: trace, file: camera.csv }');

/** Entries of a trace, or the places of its problems in its own file. */
function trace(...lines: string[]): unknown {
  const { issue } = read(SCENARIO, { 'camera.csv': [HEADER, ...lines].join('\n') }).systems[0]!.masters[0]!;
  return issue.process === 'trace' ? issue.entries : null;
}

function faults(text: string): string[] {
  return problemsOf(SCENARIO, { 'camera.csv': text }).map(
    ({ file, line, column, code }) => `${file}:${line}:${column} ${code}`,
  );
}

describe('a trace', () => {
  it('gives times in picoseconds, and addresses in decimal or hexadecimal', () => {
    expect(trace('0,read,0x40,64', '12.5,write,128,8', '')).toEqual([
      { timePs: 0, write: false, address: 64, bytes: 64 },
      { timePs: 12_500, write: true, address: 128, bytes: 8 },
    ]);
  });

  it('may have the line ends of any system', () => {
    expect(trace('0,read,0,64\r', '1,read,0,64\r')).toHaveLength(2);
  });

  it('that is not there is told at the key that names it', () => {
    expect(placesOf(SCENARIO)).toEqual([`${at(SCENARIO, 'camera.csv')} trace_missing masters.camera.issue.file`]);
  });

  it('with another header is told in its own file', () => {
    expect(faults('time,op,address,bytes\n0,read,0,64\n')).toEqual(['camera.csv:1:1 trace_format']);
    expect(faults('')).toEqual(['camera.csv:1:1 trace_format']);
  });

  it('without requests is told', () => {
    expect(faults(`${HEADER}\n`)).toEqual(['camera.csv:1:1 trace_format']);
  });

  it.each([
    ['5,read,0', '3:1'],
    ['-1,read,0,64', '3:1'],
    ['four,read,0,64', '3:1'],
    ['3,read,0,64', '3:1'],
    ['5,fetch,0,64', '3:3'],
    ['5,read,zero,64', '3:8'],
    ['5,read,-4,64', '3:8'],
    ['5,read,0,0', '3:10'],
    ['5,read,0,6.5', '3:10'],
    ['5,read,0xfffff,2', '3:8'],
    ['', '3:1'],
  ])('with the line "%s" is told at %s', (line, place) => {
    expect(faults(`${HEADER}\n4,read,0,64\n${line}\n9,read,0,64\n`)).toEqual([`camera.csv:${place} trace_format`]);
  });

  it('of another kind altogether is told twenty times at most', () => {
    expect(faults([HEADER, ...Array.from({ length: 1000 }, () => 'x')].join('\n'))).toHaveLength(20);
  });
});
