// The ticket's page: draws the bars of its steps and prints.
import { drawSteps } from './steps.js';
drawSteps(document);
document.getElementById('print').addEventListener('click', () => window.print());
