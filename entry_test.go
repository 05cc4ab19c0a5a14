package holdfast

import (
	"bytes"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestMakeIDIsUUIDv7(t *testing.T) {
	// RFC 9562 appendix A.6: Unix milliseconds 0x017F22E279B0, rand_a 0xCC3,
	// rand_b 0x18C4DC0C0C07398F.
	id := MakeID(0x017F22E279B0, [10]byte{0x0C, 0xC3, 0x18, 0xC4, 0xDC, 0x0C, 0x0C, 0x07, 0x39, 0x8F})
	if want := ID("017f22e2-79b0-7cc3-98c4-dc0c0c07398f"); id != want {
		t.Errorf("id %s, want %s", id, want)
	}
	rapid.Check(t, func(t *rapid.T) {
		var r [10]byte
		copy(r[:], rapid.SliceOfN(rapid.Byte(), 10, 10).Draw(t, "random"))
		if id := MakeID(rapid.Int64Range(0, 1<<47).Draw(t, "ms"), r); !id.Valid() {
			t.Fatalf("%s is not valid", id)
		}
	})
}

func TestReadEntryReturnsWhatWasWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		for _, ev := range history(t) {
			line, err := ev.Canonical()
			if err != nil {
				t.Fatal(err)
			}
			again, err := ReadEntry(line)
			if err != nil {
				t.Fatalf("%s: %v", line, err)
			}
			back, _ := again.Canonical()
			if !bytes.Equal(line, back) {
				t.Fatalf("wrote %s, read %s", line, back)
			}
		}
	})
}

func TestReadEntryRefuses(t *testing.T) {
	good, _ := event(t, 1, t0, "", opened(10)).Canonical()
	for name, line := range map[string]string{
		"white space":        strings.Replace(string(good), ":", ": ", 1),
		"unknown field":      strings.Replace(string(good), `{"id"`, `{"x":1,"id"`, 1),
		"unknown kind":       strings.Replace(string(good), "lot_opened", "lot_eaten", 1),
		"later version":      strings.Replace(string(good), `"v":1`, `"v":2`, 1),
		"payload field":      strings.Replace(string(good), `"declared"`, `"claimed"`, 1),
		"negative count":     strings.Replace(string(good), `"declared":10`, `"declared":-10`, 1),
		"huge count":         strings.Replace(string(good), `"declared":10`, `"declared":99999999999`, 1),
		"no lot":             strings.Replace(string(good), `"lot":"A",`, ``, 1),
		"name out of bounds": strings.Replace(string(good), `"lot":"A"`, `"lot":"../A"`, 1),
		"not a UUIDv7":       strings.Replace(string(good), `-7`, `-4`, 1),
		"year 1970":          strings.Replace(string(good), `"occurred_at":1780000000000000`, `"occurred_at":1`, 1),
		"cut short":          string(good[:len(good)-5]),
		"nothing":            "",
	} {
		if line == string(good) {
			t.Fatalf("%s: the case changes nothing", name)
		}
		if _, err := ReadEntry([]byte(line)); err == nil {
			t.Errorf("%s: accepted %s", name, line)
		}
	}
}

func TestEncodeRefusesNaN(t *testing.T) {
	var e Entry
	if err := e.Encode(&WaterChange{Litres: math.NaN()}); err == nil {
		t.Error("NaN was written into the journal")
	}
}

func TestEveryKindHasItsOwnPayload(t *testing.T) {
	for _, k := range Kinds() {
		if got := kinds[k].make().Kind(); got != k {
			t.Errorf("kind %s makes a payload of kind %s", k, got)
		}
	}
	if len(kinds) != 44 {
		t.Errorf("%d kinds; a kind was added or lost: update this test and the fold", len(kinds))
	}
}

func TestLinkIsSHA256OfPreviousAndBytes(t *testing.T) {
	// SHA-256 of 32 zero bytes followed by "abc", by coreutils sha256sum:
	// (head -c32 /dev/zero; printf abc) | sha256sum
	got := Hash{}.Link([]byte("abc")).String()
	if want := "365aa7d8f7f9402c4b9434502b4cc89ddb09fe50d7cd95b493b834c62d5a5370"; got != want {
		t.Errorf("link %s, want %s", got, want)
	}
}

func TestDayFollowsTheZone(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Skip("no zone data")
	}
	m := MicrosOf(time.Date(2026, 3, 28, 23, 30, 0, 0, time.UTC)) // 00:30 on the 29th in Berlin
	if d := DayOf(m, berlin); d.String() != "2026-03-29" {
		t.Errorf("day %s, want 2026-03-29", d)
	}
	// The day on which summer time begins has 23 hours and is one day long.
	d := DayFromDate(2026, 3, 29)
	if got := (d + 1).Start(berlin) - d.Start(berlin); got != 23*3600*1e6 {
		t.Errorf("the day lasts %d µs, want 23 hours", got)
	}
	if back, ok := ParseDay(d.String()); !ok || back != d {
		t.Errorf("%s reads back as %s", d, back)
	}
}

func FuzzReadEntry(f *testing.F) {
	good, _ := event(f, 1, t0, "", opened(10)).Canonical()
	f.Add(good)
	f.Add([]byte(`{"id":"x","payload":{}}`))
	f.Fuzz(func(t *testing.T, line []byte) {
		e, err := ReadEntry(line)
		if err != nil {
			return
		}
		ev, err := e.Decode()
		if err != nil {
			t.Fatalf("accepted and cannot be decoded: %v", err)
		}
		FoldLot(e.Lot, []Event{ev})
		FoldTank(e.Tank, []Event{ev})
	})
}
