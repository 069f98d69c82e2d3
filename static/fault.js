// What is wrong with what was entered, beside its blank; the value itself is kept.

export function calm(control, id) {
  delete control.dataset.mine;
  control.removeAttribute('aria-invalid'); control.removeAttribute('aria-describedby');
  document.getElementById(id)?.remove();
}

export function fault(control, id, words) {
  let note = document.getElementById(id);
  if (!note) {
    note = document.createElement('span');
    note.id = id;
    note.className = 'problem beside';
    note.dataset.keep = '';
    note.setAttribute('role', 'alert');
    (control.closest('.given') ?? control).after(note);
  }
  note.textContent = words;
  control.setAttribute('aria-invalid', 'true'); control.setAttribute('aria-describedby', id);
}
