/** A process of the command `npm run intervals`: performs one task after another, as it is told. */
import { perform, type Task } from './tasks.js';

process.on('message', (task: Task) => {
  void perform(task).then((outcome) => process.send!(outcome));
});
