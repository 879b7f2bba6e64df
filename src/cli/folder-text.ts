import { complaintSentence, type ImportReport } from '../operations/site-folder.js';

const plural = (n: number, one: string, many: string) => `${n.toLocaleString('en')} ${n === 1 ? one : many}`;

/** What a check found, for a terminal. */
export function complaintText(folder: string, report: ImportReport): string {
  const lines = report.complaints.first.map((complaint) => `  ${complaintSentence(complaint)}`);
  const hidden = report.complaints.total - report.complaints.first.length;
  if (hidden > 0) lines.push(`  … and ${plural(hidden, 'complaint', 'complaints')} more`);
  const verdict =
    report.complaints.total === 0
      ? `${folder}: no complaints. Take it in with: wreckfield import ${folder}`
      : `${folder}: ${plural(report.complaints.total, 'complaint', 'complaints')}; nothing was stored`;
  return `${[verdict, ...lines, ...countLines(report), ...notRead(report)].join('\n')}\n`;
}

/** What an import did, for a terminal. */
export function importText(folder: string, report: ImportReport): string {
  if (report.version === null) {
    const refused = complaintText(folder, report).trimEnd();
    return `${refused}\nMend the rows named, or keep the good ones with: wreckfield import ${folder} --set-aside\n`;
  }
  const aside = report.setAside.map(({ file, rows }) => `  ${file}: ${plural(rows, 'row', 'rows')} set aside`);
  const head = `${folder}: site ${report.site}, data version ${report.version}`;
  return `${[head, ...countLines(report), ...adjusted(report), ...aside, ...notRead(report)].join('\n')}\n`;
}

const countLines = (report: ImportReport): string[] =>
  report.rows.map(({ file, rows }) => `  ${file}: ${plural(rows, 'row', 'rows')}`);

const adjusted = ({ adjustment }: ImportReport): string[] => {
  if (adjustment === null) return [];
  const { fromVersion, moved, added } = adjustment;
  const more = added > 0 ? `, ${plural(added, 'point', 'points')} of the measurements added` : '';
  return [
    `  accepted adjustment of data version ${fromVersion}: ${plural(moved, 'control point', 'control points')} placed anew${more}`,
  ];
};

const notRead = (report: ImportReport): string[] =>
  report.notRead.length > 0 ? [`  not read: ${report.notRead.join(', ')}`] : [];
