// usage: write_exceljs.mjs TOLD.json OUT.xlsx [stream | 1904]
// The workbook as exceljs (npm) writes it: at once, as a stream (texts stand in the cells then, and
// in no list of their own), or with days counted from 1904.
import { createRequire } from 'node:module';
import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const web = join(dirname(fileURLToPath(import.meta.url)), '../../web/package.json');
const ExcelJS = createRequire(web)('exceljs');
const [from, to, mode] = process.argv.slice(2);
const told = JSON.parse(readFileSync(from, 'utf8'));
const stream = mode === 'stream';

function valueOf(cell) {
  switch (cell.put) {
    case 'date':
      return new Date(cell.value + 'Z');
    case 'formula':
      return {
        formula: cell.value,
        result: String(cell.result).startsWith('#') ? { error: cell.result } : cell.result,
      };
    case 'rich':
      return { richText: cell.runs.map(([text, strike]) => ({ text, font: strike ? { strike } : {} })) };
    case 'nothing':
      return null;
    default:
      return cell.value;
  }
}

function put(sheet, place, cell) {
  const at = sheet.getCell(place);
  at.value = valueOf(cell);
  if (cell.format) at.numFmt = cell.format;
  if (cell.struck && cell.put !== 'rich') at.font = { strike: true };
  if (cell.note && !stream) at.note = cell.note;
}

const byRow = ([a], [b]) => Number(a.replace(/\D/g, '')) - Number(b.replace(/\D/g, ''));
const book = stream
  ? new ExcelJS.stream.xlsx.WorkbookWriter({ filename: to, useStyles: true, useSharedStrings: false })
  : new ExcelJS.Workbook();
if (mode === '1904') book.properties.date1904 = true;
for (const table of told.tables) {
  const sheet = book.addWorksheet(table.name, { state: table.hidden ? 'hidden' : 'visible' });
  for (const column of table.hidden_columns ?? []) sheet.getColumn(column).hidden = true;
  for (const [place, cell] of Object.entries(table.cells).sort(byRow))
    if (!(cell.not ?? []).includes('exceljs')) put(sheet, place, cell);
  for (const block of table.merges ?? []) sheet.mergeCells(block);
  for (const row of table.hidden_rows ?? []) sheet.getRow(row).hidden = true;
  if (stream) await sheet.commit();
}
await (stream ? book.commit() : book.xlsx.writeFile(to));
