/** HTML that was made by `markup` or by a library that escapes; anything else is text. */
export class Markup {
  constructor(readonly text: string) {}
  toString(): string {
    return this.text;
  }
}

export type Content = Markup | string | number | null | undefined | false | readonly Content[];

const ESCAPES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

/** Text as HTML shows it, in an element or in a quoted attribute. */
export function escaped(text: string): string {
  return text.replace(/[&<>"']/g, (mark) => ESCAPES[mark]!);
}

/** HTML with values filled in: all of them escaped but what is HTML already. Null and false are nothing; lists are joined. */
export function markup(parts: TemplateStringsArray, ...values: readonly Content[]): Markup {
  return new Markup(parts.map((part, i) => (i === 0 ? part : rendered(values[i - 1]) + part)).join(''));
}

function rendered(value: Content): string {
  if (value === null || value === undefined || value === false) return '';
  if (value instanceof Markup) return value.text;
  if (typeof value === 'string' || typeof value === 'number') return escaped(String(value));
  return value.map(rendered).join('');
}

/** A text as part of an id: what is not a letter or digit is spelt by its number, so that no two texts share one. */
export function idOf(...words: readonly string[]): string {
  return words.map((word) => word.replace(/[^A-Za-z0-9]/g, (mark) => `_${mark.charCodeAt(0).toString(16)}_`)).join('-');
}

/** A cell of a table: what begins as a number stands at the right, so that its digits stand under each other. */
export function cellMarkup(text: string): Markup {
  return /^[-+]?\d|^–$/u.test(text) ? markup`<td class="n">${text}</td>` : markup`<td>${text}</td>`;
}
