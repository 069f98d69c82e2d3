// Underlines, behind the writing, the words a problem points at; left off above 20 kB, where it would cost time.
export function underline(mirror, value, problems) {
  mirror.hidden = value.length > 20000;
  if (mirror.hidden) return;
  const lines = value.split('\n'), parts = [];
  lines.forEach((line, i) => {
    let at = 0;
    for (const column of problems.filter(p => p.here === i + 1).map(p =>
        Math.max(0, (p.column ?? 1) - 1)).sort((a, b) => a - b)) {
      if (column < at) continue;
      const word = line.slice(column).match(/^[\p{L}\p{N}_.:]+|^\S/u)?.[0] ?? '';
      const mark = document.createElement('mark'); mark.textContent = word;
      parts.push(line.slice(at, column), mark); at = column + word.length;
    }
    parts.push(line.slice(at), i < lines.length - 1 ? '\n' : '\u200b');
  });
  mirror.replaceChildren(...parts);
}
