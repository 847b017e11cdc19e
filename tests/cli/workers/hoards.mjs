// a worker that wants more memory than it may have, soon: 80 MB a turn
export default function work() {
  const all = [];
  for (;;) all.push(Array.from({ length: 10 }, () => Array.from(new Float64Array(1e6))));
}
