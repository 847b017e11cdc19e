// What the page does beyond showing: sorting and saving tables, marking paths, reading curves. Without it everything is
// still there to be read.
(() => {
  'use strict';
  document.documentElement.classList.add('script');

  /** @param {string} selector @param {ParentNode} [within] @returns {HTMLElement[]} */
  const all = (selector, within = document) => /** @type {HTMLElement[]} */ ([...within.querySelectorAll(selector)]);

  // --- tables ---

  /** @param {HTMLTableCellElement} cell */
  const sortKey = (cell) => cell.dataset['sort'] ?? (cell.textContent ?? '').trim();

  /** A number with thousands commas and a unit after it, or NaN. @param {string} text */
  function leadingNumber(text) {
    const [, digits = ''] = /^([-+]?[\d,]*\.?\d+)(?:\s|$)/u.exec(text) ?? [];
    return digits === '' ? Number.NaN : Number(digits.replaceAll(',', ''));
  }

  /** Cells with a value before those without; numbers by size, texts by code unit. @param {string} a @param {string} b @param {number} sign */
  function compare(a, b, sign) {
    const empty = (/** @type {string} */ text) => text === '' || text === '–';
    if (empty(a) || empty(b)) return Number(empty(a)) - Number(empty(b));
    const [x, y] = [leadingNumber(a), leadingNumber(b)];
    if (!Number.isNaN(x) && !Number.isNaN(y)) return sign * (x - y);
    return sign * (a < b ? -1 : a > b ? 1 : 0);
  }

  /** @param {HTMLTableElement} table @param {number} column */
  function sortBy(table, column) {
    const heads = [...(table.tHead?.rows[0]?.cells ?? [])];
    const head = heads[column];
    const body = table.tBodies[0];
    if (head === undefined || body === undefined) return;
    const up = head.getAttribute('aria-sort') !== 'ascending';
    for (const other of heads) other.removeAttribute('aria-sort');
    head.setAttribute('aria-sort', up ? 'ascending' : 'descending');
    const rows = [...body.rows].map((row, place) => ({
      row,
      place,
      key: sortKey(/** @type {HTMLTableCellElement} */ (row.cells[column])),
    }));
    rows.sort((a, b) => compare(a.key, b.key, up ? 1 : -1) || a.place - b.place);
    body.append(...rows.map(({ row }) => row));
  }

  /** A cell after RFC 4180; one that a spreadsheet would run as a formula gets an apostrophe. @param {string} text */
  function csvCell(text) {
    const guarded = /^[=+\-@\t\r]/u.test(text) && Number.isNaN(Number(text)) ? `'${text}` : text;
    return /[",\r\n]/u.test(guarded) ? `"${guarded.replaceAll('"', '""')}"` : guarded;
  }

  /** @param {string} file @param {string[][]} rows */
  function save(file, rows) {
    const text = rows.map((row) => `${row.map(csvCell).join(',')}\r\n`).join('');
    const link = document.createElement('a');
    link.href = URL.createObjectURL(new Blob([text], { type: 'text/csv' }));
    link.download = file;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
  }

  /** @param {string} file @param {() => string[][]} rows */
  function saveButton(file, rows) {
    const button = document.createElement('button');
    button.type = 'button';
    button.className = 'save';
    button.textContent = `Save ${file}`;
    button.addEventListener('click', () => save(file, rows()));
    return button;
  }

  for (const element of all('table.sortable')) {
    const table = /** @type {HTMLTableElement} */ (element);
    const heads = [...(table.tHead?.rows[0]?.cells ?? [])];
    const names = heads.map((head) => head.textContent ?? '');
    heads.forEach((head, column) => {
      const button = document.createElement('button');
      button.type = 'button';
      button.textContent = names[column] ?? '';
      head.replaceChildren(button);
      button.addEventListener('click', () => sortBy(table, column));
    });
    const rows = () => [
      names,
      ...[...(table.tBodies[0]?.rows ?? [])].map((row) =>
        [...row.cells].map((cell) => (cell.textContent ?? '').trim()),
      ),
    ];
    (table.closest('.scroll') ?? table).before(saveButton(table.dataset['file'] ?? 'table.csv', rows));
  }

  for (const element of all('script.long-table')) {
    /** @type {{ file: string, common: string[], own: string[], groups: [string[], string][] }} */
    const { file, common, own, groups } = JSON.parse(element.textContent ?? '');
    const rows = () => [
      [...common, ...own],
      ...groups.flatMap(([shared, lines]) => lines.split('\n').map((line) => [...shared, ...line.split(' ')])),
    ];
    element.before(saveButton(file, rows));
  }

  // --- the platform ---

  /** @param {string} id @param {string} name */
  function markPath(id, name) {
    for (const item of all('.diagram .item')) {
      const direct = (item.dataset['users'] ?? '').split(' ').includes(id);
      const refill = !direct && (item.dataset['refill'] ?? '').split(' ').includes(id);
      item.classList.toggle('on', direct || refill);
      item.classList.toggle('refill', refill);
    }
    for (const mark of all('.marked')) mark.textContent = name;
  }

  const choices = /** @type {HTMLInputElement[]} */ (all('input[name="path-of"]'));
  for (const choice of choices)
    choice.addEventListener('change', () => markPath(choice.value, choice.dataset['name'] ?? ''));

  for (const diagram of all('.diagram')) {
    const items = all('.item', diagram);
    const readout = diagram.closest('figure')?.querySelector('.readout');
    const says = (/** @type {HTMLElement} */ item) => {
      if (readout) readout.textContent = item.getAttribute('aria-label');
    };
    items.forEach((item, place) => {
      item.setAttribute('tabindex', place === 0 ? '0' : '-1');
      item.addEventListener('focus', () => says(item));
      item.addEventListener('pointerenter', () => says(item));
      item.addEventListener('click', () => {
        const choice = choices.find(({ value }) => value === item.dataset['master']);
        if (choice !== undefined) choice.click();
      });
      item.addEventListener('keydown', (event) => {
        const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
        if (event.key === 'Enter' || event.key === ' ') item.dispatchEvent(new MouseEvent('click'));
        else if (step === undefined) return;
        event.preventDefault();
        const next = items[(place + (step ?? 0) + items.length) % items.length];
        if (next === undefined || next === item) return;
        item.setAttribute('tabindex', '-1');
        next.setAttribute('tabindex', '0');
        next.focus();
      });
    });
  }

  // --- curves: what each placement has at one height ---

  const SVG = 'http://www.w3.org/2000/svg';
  const PERCENTILES = [0.5, 0.1, 0.05, 0.01, 0.001, 0.0001, 0.00001];

  /** @param {number} ns */
  function timeText(ns) {
    return `${ns >= 10_000 ? Math.round(ns).toLocaleString('en-US') : Number(ns.toPrecision(4)).toLocaleString('en-US')} ns`;
  }

  /** Corners of a line as [x, y] in the chart's own units. @param {Element} path */
  function cornersOf(path) {
    const numbers = (path.getAttribute('d') ?? '').match(/-?\d+(?:\.\d+)?/gu) ?? [];
    /** @type {[number, number][]} */
    const corners = [];
    for (let i = 0; i + 1 < numbers.length; i += 2) corners.push([Number(numbers[i]), Number(numbers[i + 1])]);
    return corners;
  }

  /** Where a falling line is at height y. @param {[number, number][]} corners @param {number} y */
  function crossing(corners, y) {
    const index = corners.findIndex((corner) => corner[1] >= y);
    const after = corners[index];
    const before = corners[index - 1];
    if (after === undefined) return null;
    if (before === undefined || after[1] === before[1]) return after[0];
    return before[0] + ((y - before[1]) / (after[1] - before[1])) * (after[0] - before[0]);
  }

  for (const chart of all('svg[data-tail]')) {
    const [low = 1, high = 1, floor = 1] = (chart.dataset['tail'] ?? '').split(' ').map(Number);
    /** @type {string[]} */
    const names = JSON.parse(chart.dataset['names'] ?? '[]');
    const lines = all('.tail path', chart).map(cornersOf);
    const [, , width = 0, height = 0] = (chart.getAttribute('viewBox') ?? '').split(' ').map(Number);
    const [left, right, top, bottom] = [60, width - 16, 22, height - 38];
    const readout = document.createElement('output');
    readout.className = 'readout';
    chart.closest('figure')?.querySelector('figcaption')?.append(readout);
    const line = document.createElementNS(SVG, 'line');
    line.setAttribute('class', 'tail-read');
    chart.append(line);

    /** @param {number} share */
    const read = (share) => {
      const y = top + (Math.log(share) / Math.log(floor)) * (bottom - top);
      for (const [name, value] of Object.entries({ x1: left, x2: right, y1: y, y2: y }))
        line.setAttribute(name, String(value));
      const values = lines.map((corners, i) => {
        const x = crossing(corners, y);
        const ns = x === null ? null : low * (high / low) ** ((x - left) / (right - left));
        return `${names[i] ?? ''} ${ns === null ? '–' : timeText(ns)}`;
      });
      readout.textContent = `${Number((100 * (1 - share)).toPrecision(6))} % within: ${values.join('; ')}`;
    };
    const clear = () => {
      readout.textContent = '';
      for (const name of ['x1', 'x2']) line.setAttribute(name, '0');
    };
    chart.addEventListener('pointermove', (event) => {
      const box = chart.getBoundingClientRect();
      const y = ((event.clientY - box.top) / box.height) * height;
      read(floor ** Math.min(1, Math.max(0, (y - top) / (bottom - top))));
    });
    chart.addEventListener('pointerleave', clear);
    chart.addEventListener('blur', clear);
    chart.setAttribute('tabindex', '0');
    const levels = PERCENTILES.filter((share) => share >= floor);
    let at = -1;
    chart.addEventListener('keydown', (event) => {
      const step = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1 }[event.key];
      if (step === undefined) return;
      event.preventDefault();
      at = Math.min(levels.length - 1, Math.max(0, at + step));
      read(levels[at] ?? 0.5);
    });
  }

  // --- print: what is closed on the screen and needed on paper ---

  /** @type {HTMLDetailsElement[]} */
  let opened = [];
  addEventListener('beforeprint', () => {
    opened = /** @type {HTMLDetailsElement[]} */ (all('details.scenario:not([open])'));
    for (const one of opened) one.open = true;
  });
  addEventListener('afterprint', () => {
    for (const one of opened) one.open = false;
  });
})();
