// "Make the next piece from this": asks for a title and opens the new plan.
import { ask } from './ask.js';

export function listen() {
  const dialog = document.getElementById('copy'), form = document.getElementById('copy-form'),
    alert = document.getElementById('copy-alert');
  let slug = '';
  document.addEventListener('click', e => {
    const button = e.target.closest('[data-copy]');
    if (button) {
      slug = button.dataset.copy;
      document.getElementById('copy-from').textContent = document.getElementById('title')?.textContent
        ?? button.dataset.title;
      alert.textContent = '';
      dialog.showModal();
      form.elements.title.focus();
    }
    if (e.target.closest('[data-shut]')) dialog.close();
  });
  form.addEventListener('submit', async e => {
    e.preventDefault();
    const answer = await ask(`/plan/${slug}/copy`,
      {
        json: { title: form.elements.title.value.trim(),
          without: [...form.querySelectorAll('[name=along]:not(:checked)')].map(b => b.value) }
      });
    if (answer.ok && answer.location) location.assign(answer.location);
    else alert.textContent = [answer.what, answer.next].filter(Boolean).join(' ') || 'The notebook gave no answer.';
  });
}
