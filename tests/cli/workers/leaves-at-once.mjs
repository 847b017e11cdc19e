// a worker that ends before it has told that it is there
process.exit(3);
