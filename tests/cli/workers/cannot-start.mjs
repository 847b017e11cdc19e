// a worker that never gets as far as a task
throw new Error('no such library');
