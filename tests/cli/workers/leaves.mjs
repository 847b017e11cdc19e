// a worker that ends in the middle of its task
export default function work() {
  process.exit(3);
}
