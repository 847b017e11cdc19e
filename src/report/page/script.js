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
    /** @type {{ file: string, columns: string[], lines: string }} */
    const { file, columns, lines } = JSON.parse(element.textContent ?? '');
    const rows = () => {
      /** @type {string[]} */
      let above = [];
      const cells = lines.split('\n').map((line) => {
        // a line begins with how many of its cells are as in the one above
        const [alike, ...own] = line.split('\t');
        above = [...above.slice(0, Number(alike)), ...own];
        return above;
      });
      return [columns, ...cells];
    };
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
    const [left, right, top, bottom] = [60, width - 16, 22, height - 28];
    const readout = document.createElement('output');
    readout.className = 'readout';
    chart.after(readout);
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

  // --- time: all charts show the same part of it ---

  const LEFT = 62;
  const RIGHT = 32;
  const zoom = all('.zoom')[0];
  if (zoom !== undefined) {
    const [start = 0, end = 1, step = 1] = ['start', 'end', 'step'].map((name) => Number(zoom.dataset[name]));
    const count = Math.round((end - start) / step);
    const from = /** @type {HTMLInputElement} */ (zoom.querySelector('.zoom-from'));
    const to = /** @type {HTMLInputElement} */ (zoom.querySelector('.zoom-to'));
    const output = /** @type {HTMLElement} */ (zoom.querySelector('output'));
    const timeOf = (/** @type {number} */ window) => start + window * step;
    const us = (/** @type {number} */ time) => `${Number(time.toFixed(3)).toLocaleString('en-US')} µs`;
    for (const slider of [from, to]) {
      slider.min = '0';
      slider.max = String(count);
      slider.step = '1';
    }
    const charts = all('svg[data-course]').map((chart, i) => stripOf(/** @type {any} */ (chart), i));

    /** Puts the lines of a chart behind a window that they can be stretched in. @param {SVGSVGElement} chart @param {number} place */
    function stripOf(chart, place) {
      const [, , width = 0, height = 0] = (chart.getAttribute('viewBox') ?? '').split(' ').map(Number);
      const clip = document.createElementNS(SVG, 'clipPath');
      clip.id = `course-${place}`;
      const pane = document.createElementNS(SVG, 'rect');
      const inner = width - LEFT - RIGHT;
      for (const [name, value] of Object.entries({ x: LEFT, y: 0, width: inner, height }))
        pane.setAttribute(name, String(value));
      clip.append(pane);
      chart.prepend(clip);
      const lines = all('.course', chart).map((line) => {
        const frame = document.createElementNS(SVG, 'g');
        frame.setAttribute('clip-path', `url(#course-${place})`);
        line.replaceWith(frame);
        frame.append(line);
        return line;
      });
      const axis = document.createElementNS(SVG, 'g');
      axis.setAttribute('class', 'own-axis');
      chart.append(axis);
      const drawn = all('[class^="time"]', chart);
      return { chart, inner, height, lines, axis, drawn };
    }

    /** @param {number} first @param {number} last */
    function show(first, last) {
      const [a, b] = [Math.max(0, Math.min(first, count - 1)), Math.min(count, Math.max(last, first + 1))];
      from.value = String(a);
      to.value = String(b);
      const whole = a === 0 && b === count;
      const [low, high] = [timeOf(a), timeOf(b)];
      output.textContent = `${us(low)} to ${us(high)}`;
      const stretch = count / (b - a);
      for (const { inner, height, lines, axis, drawn } of charts) {
        const shift = LEFT - stretch * (LEFT + (a / count) * inner);
        for (const line of lines) line.setAttribute('transform', `translate(${shift} 0) scale(${stretch} 1)`);
        for (const part of drawn) part.style.display = whole ? '' : 'none';
        axis.replaceChildren();
        if (whole) continue;
        for (const share of [0, 0.25, 0.5, 0.75, 1]) {
          const text = document.createElementNS(SVG, 'text');
          text.setAttribute('x', String(LEFT + share * inner));
          text.setAttribute('y', String(height - 6));
          text.setAttribute('font-size', '11.5');
          text.setAttribute('text-anchor', share === 0 ? 'start' : share === 1 ? 'end' : 'middle');
          text.textContent = us(low + share * (high - low));
          axis.append(text);
        }
      }
    }

    from.addEventListener('input', () => show(Number(from.value), Math.max(Number(to.value), Number(from.value) + 1)));
    to.addEventListener('input', () => show(Math.min(Number(from.value), Number(to.value) - 1), Number(to.value)));
    zoom.querySelector('button')?.addEventListener('click', () => show(0, count));
    show(0, count);

    for (const { chart, inner } of charts) {
      const [, , width = 1] = (chart.getAttribute('viewBox') ?? '').split(' ').map(Number);
      const mark = document.createElementNS(SVG, 'rect');
      mark.setAttribute('class', 'picked');
      /** @type {number | null} */
      let begun = null;
      const shareAt = (/** @type {PointerEvent} */ event) => {
        const box = chart.getBoundingClientRect();
        const x = ((event.clientX - box.left) / box.width) * width;
        return Math.min(1, Math.max(0, (x - LEFT) / inner));
      };
      chart.addEventListener('pointerdown', (event) => {
        if (event.pointerType === 'touch') return;
        begun = shareAt(event);
        chart.setPointerCapture(event.pointerId);
      });
      chart.addEventListener('pointermove', (event) => {
        if (begun === null) return;
        const [a, b] = [begun, shareAt(event)].sort((x, y) => x - y);
        const box = { x: LEFT + (a ?? 0) * inner, y: 0, width: ((b ?? 0) - (a ?? 0)) * inner, height: 80 };
        for (const [name, value] of Object.entries(box)) mark.setAttribute(name, String(value));
        chart.append(mark);
      });
      chart.addEventListener('pointerup', (event) => {
        if (begun === null) return;
        const [a = 0, b = 1] = [begun, shareAt(event)].sort((x, y) => x - y);
        begun = null;
        mark.remove();
        if (b - a < 0.01) return;
        const [first, last] = [Number(from.value), Number(to.value)];
        show(Math.floor(first + a * (last - first)), Math.ceil(first + b * (last - first)));
      });
    }
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
