// A table sorted by its column names; numbers listed in `numeric` sort as numbers.
export function sortable(table, numeric = []) {
  const heads = [...table.querySelectorAll('thead th')];
  heads.forEach((th, i) => th.querySelector('button').addEventListener('click', () => {
    const down = th.getAttribute('aria-sort') === 'ascending', body = table.tBodies[0];
    heads.forEach(h => h.removeAttribute('aria-sort'));
    th.setAttribute('aria-sort', down ? 'descending' : 'ascending');
    const key = row => row.children[i].dataset.v ?? '';
    const order = numeric.includes(i) ? (a, b) => key(a) - key(b)
      : (a, b) => key(a).localeCompare(key(b), undefined, { numeric: true });
    body.append(...[...body.rows].sort((a, b) => order(a, b) * (down ? -1 : 1)));
  }));
}
