package paper

import (
	"bytes"
	"math"
	"reflect"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

func sample() Register {
	day := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	return Register{
		Site: "Tank room", Number: "XX 00 000", Keeper: "the keeper", From: day.AddDate(-1, 0, 0), To: day, Written: day,
		Movements: []Movement{
			{When: day, In: true, Lot: "BV 2511", Species: "Neocaridina davidi", Strain: "Blue Velvet", Category: "ornamental crustaceans", Count: 200, Unit: "Tank 16", Place: "Ninefold Pond Farm", PlaceNumber: "YY 1", Transporter: "air freight", Certificate: "C-77", Border: "Harbour, N-9", Note: "=not a formula"},
			{When: day, Lot: "BV 2507", Species: "Neocaridina davidi", Count: 10, Unit: "Tank 3", Place: "buyer 41"},
		},
		Deaths:     []Death{{When: day, Unit: "System B", Lot: "BV 2511", Species: "Neocaridina davidi", Count: 7, OnHand: 200, Share: 0.035, Signs: "dead in the bag", Disposal: "frozen"}, {When: day, Unit: "System C", Count: 1, Share: math.NaN()}},
		Treatments: []Treatment{{When: day, Unit: "Tank 16", Lot: "BV 2511", Species: "Neocaridina davidi", Animals: 193, Active: "praziquantel", Batch: "b1", Amount: "0.14 g", Strength: "2.5 mg/L", Reason: "worm seen", GivenBy: "the keeper", Prescription: "P-3", Held: "yes", Disposal: "through carbon"}},
		Tests:      []Test{{When: day, Unit: "Tank 16", Lot: "BV 2511", Condition: "rostrum worm", Method: "macro photograph", LookedAt: 71, Positive: 2, By: "the keeper", Result: "2 of 71 with signs"}},
		Visits:     []Visit{{When: day, Who: "the veterinarian", Role: "veterinarian", Reason: "yearly", Lots: "the whole shop", Result: "no remarks", Instructions: "go on", Samples: "5 animals", Laboratory: "L-3: clear", By: "Jo"}},
		Measures:   []Measure{{When: day, Unit: "Tank 16", What: "nets dried 48 h", By: "the helper"}},
	}
}

// TestRegister wants every fact of the register in the workbook, under the
// heads that the law asks for, and nothing beside them.
func TestRegister(t *testing.T) {
	var buf bytes.Buffer
	if err := WriteXLSX(&buf, RegisterSheets(sample())...); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&buf)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if want := []string{"About", "Movements in", "Movements out", "Deaths", "Treatments", "Tests", "Visits", "Biosecurity"}; !reflect.DeepEqual(f.GetSheetList(), want) {
		t.Fatalf("sheets %q, want %q", f.GetSheetList(), want)
	}
	for sheet, want := range map[string][][]string{
		"Movements in": {
			{"Date", "Lot", "Species", "Strain", "Category", "Animals", "Into unit", "From", "From: number", "Transporter", "Certificate", "Invoice", "Border post and notice", "Note"},
			{"2026-11-25", "BV 2511", "Neocaridina davidi", "Blue Velvet", "ornamental crustaceans", "200", "Tank 16", "Ninefold Pond Farm", "YY 1", "air freight", "C-77", "", "Harbour, N-9", "'=not a formula"},
		},
		"Movements out": {
			{"Date", "Lot", "Species", "Strain", "Category", "Animals", "Left unit", "To", "To: number", "Transporter", "Certificate", "Invoice", "Border post and notice", "Note"},
			{"2026-11-25", "BV 2507", "Neocaridina davidi", "", "", "10", "Tank 3", "buyer 41"},
		},
		"Deaths": {
			{"Date", "Unit", "Lot", "Species", "Dead", "Alive before", "Share", "Signs", "Disposal"},
			{"2026-11-25", "System B", "BV 2511", "Neocaridina davidi", "7", "200", "3.5%", "dead in the bag", "frozen"},
			{"2026-11-25", "System C", "", "", "1"},
		},
		"Treatments": {
			{"Date", "Unit", "Lot", "Species", "Animals", "Active ingredient", "Batch", "Amount", "Strength", "Reason", "Given by", "Prescription", "Conditions held", "Disposal", "Note"},
			{"2026-11-25", "Tank 16", "BV 2511", "Neocaridina davidi", "193", "praziquantel", "b1", "0.14 g", "2.5 mg/L", "worm seen", "the keeper", "P-3", "yes", "through carbon"},
		},
		"Tests": {
			{"Date", "Unit", "Lot", "Looked for", "Method", "Animals looked at", "Positive", "By", "Result"},
			{"2026-11-25", "Tank 16", "BV 2511", "rostrum worm", "macro photograph", "71", "2", "the keeper", "2 of 71 with signs"},
		},
		"Visits": {{"Date", "Who", "As", "Reason", "Lots", "Result", "Instructions", "Samples taken", "Laboratory result", "Written by"},
			{"2026-11-25", "the veterinarian", "veterinarian", "yearly", "the whole shop", "no remarks", "go on", "5 animals", "L-3: clear", "Jo"}},
		"Biosecurity": {{"Date", "Unit", "What was done", "By"}, {"2026-11-25", "Tank 16", "nets dried 48 h", "the helper"}},
	} {
		got, err := f.GetRows(sheet)
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s: %q (%v), want %q", sheet, got, err, want)
		}
	}
}
