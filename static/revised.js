// A number that just changed gets a revision bar beside its paragraph for a moment.
const barred = new Map();

export function mark(numbers, revision) {
  for (const n of numbers) {
    const place = n.closest('p, li, tr, h2, h3, figure');
    if (!place || place.closest('.open')) continue;
    clearTimeout(barred.get(place));
    barred.set(place, setTimeout(() => {
      barred.delete(place);
      place.classList.remove('revised');
      place.removeAttribute('data-rev');
    }, 4000));
  }
  for (const place of barred.keys()) { place.classList.add('revised'); place.dataset.rev = revision; }
}
