import { expect, test } from 'vitest';
import { idOf, markup, Markup } from '../../src/report/html.js';

const HOSTILE = `<img src=x onerror="alert('1')">&`;

test('values are escaped, in elements and in attributes', () => {
  const made = markup`<p title="${HOSTILE}">${HOSTILE}</p>`.text;
  const shown = '&lt;img src=x onerror=&quot;alert(&#39;1&#39;)&quot;&gt;&amp;';
  expect(made).toBe(`<p title="${shown}">${shown}</p>`);
});

test('what is HTML already stays as it is, lists are joined, and nothing is shown of null, undefined and false', () => {
  const item = markup`<li>${'a < b'}</li>`;
  expect(markup`<ul>${[item, [new Markup('<hr>'), 7]]}${null}${undefined}${false}</ul>`.text).toBe(
    '<ul><li>a &lt; b</li><hr>7</ul>',
  );
});

test('ids hold letters, digits, _ and - alone, and differ where texts do', () => {
  const texts = ['a b', 'a_b', 'a-b', 'a"b', 'ab', 'a_20_b'];
  const ids = texts.map((text) => idOf(text));
  expect(new Set(ids).size).toBe(texts.length);
  for (const id of ids) expect(id).toMatch(/^[\w-]+$/u);
});
