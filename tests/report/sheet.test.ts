import { expect, test } from 'vitest';
import { grouped, numberIn, pooledRows, sheetOf, textIn } from '../../src/report/sheet.js';

const sheet = sheetOf('a.csv', `replication,master,mean_ns\r\n1,'=cmd,5\r\nall,"x, y",\r\nall,'s,1e3\r\n`);

test('cells are read as they were before a spreadsheet was kept from running them', () => {
  expect(sheet.columns).toEqual(['replication', 'master', 'mean_ns']);
  expect(sheet.rows.map((row) => textIn(row, 'master'))).toEqual(['=cmd', 'x, y', "'s"]);
});

test('an empty cell, a word and a missing column are no numbers', () => {
  expect(sheet.rows.map((row) => numberIn(row, 'mean_ns'))).toEqual([5, null, 1000]);
  expect(numberIn(sheet.rows[0]!, 'master')).toBeNull();
  expect(numberIn(sheet.rows[0]!, 'other')).toBeNull();
});

test('pooled rows are those over all replications, or all rows of a table without such', () => {
  expect(pooledRows(sheet)).toHaveLength(2);
  expect(pooledRows(sheetOf('b.csv', 'replication,x\n1,2\n2,3\n'))).toHaveLength(2);
  expect(pooledRows(undefined)).toEqual([]);
});

test('groups come in the order in which they are met', () => {
  expect([...grouped([3, 1, 4, 1, 5], (x) => x % 2)]).toEqual([
    [1, [3, 1, 1, 5]],
    [0, [4]],
  ]);
});

test('a table of which a record breaks the format is refused with its number', () => {
  expect(() => sheetOf('a.csv', 'a,b\r\n1\r\n')).toThrow('CSV record 2');
});
