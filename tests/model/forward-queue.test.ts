import { describe, expect, it } from 'vitest';
import { ForwardQueue } from '../../src/model/forward-queue.js';
import { QueueMeter } from '../../src/model/window.js';
import { bareContext } from './platform.js';

function setUp(depth: number) {
  const context = bareContext();
  const heads: number[] = [];
  const rooms: number[] = [];
  const meter = new QueueMeter(context.window);
  const owner = { arrived: (queue: ForwardQueue) => void heads.push(queue.head) };
  const queue = new ForwardQueue(context, owner, 0, false, depth, meter);
  queue.sender = { makesRoom: ({ freesAt }) => void rooms.push(freesAt) };
  return { context, queue, heads, rooms, meter };
}

describe('a forward queue', () => {
  it('has as many places as it is deep, each taken at the push', () => {
    const { queue } = setUp(2);
    queue.push(5);
    expect(queue.hasRoom(0)).toBe(true);
    queue.push(6);
    expect(queue.hasRoom(0)).toBe(false);
    expect(queue.roomAt(0)).toBe(Infinity);
  });

  it('shows a freed place from the instant that its owner names, not from the pop', () => {
    const { queue, rooms } = setUp(1);
    queue.push(5);
    expect(queue.pop()).toBe(5);
    expect(queue.roomAt(100)).toBe(Infinity);
    queue.release(300);
    expect(rooms).toEqual([300]);
    expect(queue.roomAt(100)).toBe(300);
    expect(queue.hasRoom(299)).toBe(false);
    expect(queue.hasRoom(300)).toBe(true);
  });

  it('gives back places one by one as their instants come', () => {
    const { queue } = setUp(2);
    queue.push(1);
    queue.push(2);
    for (const at of [100, 200]) {
      queue.pop();
      queue.release(at);
    }
    expect(queue.hasRoom(150)).toBe(true);
    queue.push(3);
    expect(queue.roomAt(150)).toBe(200);
  });

  it('keeps first in, first out, however long it grows and wherever its ring stands', () => {
    const { queue } = setUp(Infinity);
    const out: number[] = [];
    let next = 0;
    // three in, two out, so that the ring turns while it doubles from 8 to 64
    for (let round = 0; round < 40; round++) {
      for (let i = 0; i < 3; i++) queue.push(next++);
      for (let i = 0; i < 2; i++) {
        out.push(queue.pop());
        queue.release(0);
      }
    }
    while (queue.length > 0) out.push(queue.pop());
    expect(out).toEqual([...Array(120).keys()]);
    expect(queue.head).toBe(-1);
    expect(queue.headUsableAt).toBe(Infinity);
  });

  it('tells its owner of a head only when it was empty before', () => {
    const { queue, heads } = setUp(4);
    queue.push(7);
    queue.push(8);
    queue.pop();
    queue.pop();
    queue.push(9);
    expect(heads).toEqual([7, 9]);
  });

  it('keeps the integral of the places taken', () => {
    const { queue, context, meter } = setUp(4);
    const at = (timePs: number, act: () => void): void => {
      context.calendar.now = timePs;
      act();
    };
    at(100, () => queue.push(1));
    at(150, () => queue.push(2));
    at(400, () => {
      queue.pop();
      queue.release(400);
    });
    meter.settle(1000);
    // 1 × 50 + 2 × 250 + 1 × 600
    expect(meter.areaPs).toBe(1150);
    expect(meter.largest).toBe(2);
  });
});
