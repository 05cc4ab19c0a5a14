"""Writes the invented workbooks in lists/ with openpyxl (a writer that is not
ours; Debian's python3-openpyxl 3.0.9) and, where a workbook needs stored
results of formulas, converts a CSV with gnumeric's ssconvert 1.12.55.
Run in this folder: python3 make_books.py"""
import datetime, os, subprocess
from openpyxl import Workbook
from openpyxl.styles import numbers

def save(wb, name):
    wb.save("lists/" + name)

wb = Workbook()
ws = wb.active
ws.title = "Invoice"
ws.append(["Invoice 0000", None, "25 Nov 2026"])
ws.append(["Goods", "Amount"])
ws.append(["Live shrimp", 610.5])
ws.append(["Freight", 180])
p = wb.create_sheet("Packing")
p.append(["PACKING LIST", None, None, None, None, None])
p.merge_cells("A1:F1")
p.append([])
p.append(["Box No.", "Trade name", "Scientific name", "Pcs", "Unit price", "Arrival"])
rows = [
    (1, "Blue Velvet", "Neocaridina davidi", 200, 0.45),
    (None, "Red Cherry", "Neocaridina davidi", 400, 0.385),
    (None, "Yellow Fire", "Neocaridina davidi", 150, 0.52),
    (2, "Crystal Red S", "Caridina logemanni", 50, 2.1),
    (None, "Pinto Mix", "Caridina logemanni", 20, 6.5),
]
for r in rows:
    p.append(list(r) + [datetime.date(2026, 11, 25)])
p.merge_cells("A4:A6")
p.merge_cells("A7:A8")
for i in range(4, 9):
    p.cell(i, 5).number_format = '#,##0.00 [$€-407]'
p.append([None, "Total", None, 820, None, None])
p.row_dimensions[6].hidden = True
h = wb.create_sheet("Lists")
h.sheet_state = "hidden"
h.append(["Strain", "Qty", "Price", "Box"])
for i in range(30):
    h.append(["Old line %d" % i, 10, 1.0, i])
save(wb, "two_sheets_merged.xlsx")

wb = Workbook()
ws = wb.active
ws.append(["Item", "Bags", "Pcs/bag", "Quantity", "Price"])
ws.append(["Blue Velvet", 4, 50, "=B2*C2", 0.3])
ws.append(["Red Cherry", 2, 100, "=B3*C3", 0.25])
save(wb, "formulas_without_results.xlsx")

wb = Workbook()
ws = wb.active
ws["A1"] = "Variety"; ws["B1"] = "Quantity"; ws["D1"] = "Price"; ws["F1"] = "Remark"
ws.merge_cells("A1:A2"); ws.merge_cells("B1:C1"); ws.merge_cells("D1:E1"); ws.merge_cells("F1:F2")
ws["B2"] = "Bags"; ws["C2"] = "Pcs"; ws["D2"] = "USD"; ws["E2"] = "Total"
ws.append(["Red Cherry", 4, 200, 0.25, 50, "ok"])
ws.append(["Blue Dream", 3, 120, 0.40, 48, None])
save(wb, "two_row_header.xlsx")

wb = Workbook()
ws = wb.active
ws.append(["Strain", "Count", "DOA", "Price", "Currency"])
ws.append(["Blue Velvet", datetime.date(2026, 2, 1), None, 0.45, "EUR"])
ws.append(["Red Cherry", True, None, 0.45, "EUR"])
ws.append(["Yellow", 10.5, None, 0.45, "EUR"])
ws.append(["Orange", "#N/A", None, 0.45, "EUR"])
ws["B5"].data_type = "e"
ws.append(["Green", 100, 0.03, 0.45, "EUR"])
ws["C6"].number_format = numbers.FORMAT_PERCENTAGE
ws.append(["Black", 50, 2, 0.45, "EUR"])
ws.append(["Panda", None, None, 0.45, "EUR"])
ws.merge_cells("B7:B8")
ws.append(["King", 1e20, None, 1e300, "EUR"])
ws.append(["Snow", 5, None, "=1/0", "EUR"])
save(wb, "bad_cells.xlsx")

open("tmp.csv", "w").write('Name,Qty,Unit price USD,Amount\nBlue Velvet,200,0.45,=B2*C2\nRed Cherry,=100+300,0.38,=B3*C3\nTotal,=SUM(B2:B3),,=SUM(D2:D3)\n')
subprocess.check_call(["ssconvert", "-T", "Gnumeric_Excel:xlsx2", "tmp.csv", "lists/formulas_with_results.xlsx"])
os.remove("tmp.csv")
