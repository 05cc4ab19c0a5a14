package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
)

// photoFolder holds one readable picture under several names, a damaged one,
// and files to pass over.
func photoFolder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	from := filepath.Join("..", "..", "photo", "testdata", "formats")
	copyTo := func(name, to string, cut int) {
		data, err := os.ReadFile(filepath.Join(from, name))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, to), data[:len(data)-cut], 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.MkdirAll(filepath.Join(dir, "card", ".trash"), 0o755); err != nil {
		t.Fatal(err)
	}
	copyTo("picture.jpg", "a.jpg", 0)
	copyTo("picture.jpg", "card/again.JPG", 0)
	copyTo("picture.png", "card/wrong-ending.jpg", 0)
	copyTo("picture.jpg", "cut.jpg", 1500)
	copyTo("picture.jpg", "card/.trash/hidden.jpg", 0)
	if err := os.WriteFile(filepath.Join(dir, "notes.txt"), []byte("not a picture"), 0o644); err != nil {
		t.Fatal(err)
	}
	return dir
}

func run(t *testing.T, args ...string) (status int, out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	status = Run(context.Background(), args, Streams{Out: &o, Err: &e})
	return status, o.String(), e.String()
}

func TestPhotosPrintsOneObjectAFile(t *testing.T) {
	dir := photoFolder(t)
	for _, args := range [][]string{{}, {"--go-jpeg"}} {
		status, out, errs := run(t, append([]string{"photos", "--json", dir}, args...)...)
		if status != StatusDone || errs != "" {
			t.Fatalf("status %d, %s", status, errs)
		}
		var rows []map[string]any
		if err := json.Unmarshal([]byte(out), &rows); err != nil {
			t.Fatal(err)
		}
		var names []string
		for _, r := range rows {
			names = append(names, r["file"].(string))
			for _, key := range []string{"file", "sharpness", "usable", "burst", "best", "eye", "marks"} {
				if _, ok := r[key]; !ok {
					t.Errorf("%v lacks %s", r["file"], key)
				}
			}
			if _, ok := r["marks"].([]any); !ok {
				t.Errorf("%v: marks is no array", r["file"])
			}
		}
		if want := []string{"a.jpg", "card/again.JPG", "card/wrong-ending.jpg", "cut.jpg"}; !slices.Equal(names, want) {
			t.Fatalf("files %v, want %v", names, want)
		}
		if rows[1]["duplicate_of"] != "a.jpg" || rows[0]["duplicate_of"] != nil {
			t.Errorf("duplicates: %v, %v", rows[0]["duplicate_of"], rows[1]["duplicate_of"])
		}
		if rows[3]["problem"] == nil || rows[3]["burst"] != 0.0 || rows[0]["problem"] != nil {
			t.Errorf("damaged file: %v", rows[3])
		}
	}
}

func TestPhotosTellsAPerson(t *testing.T) {
	status, out, _ := run(t, "photos", photoFolder(t))
	if status != StatusDone || !strings.Contains(out, "4 files in") || !strings.Contains(out, "not a clean animal") ||
		!strings.Contains(out, "cut.jpg: The file is damaged") {
		t.Errorf("status %d:\n%s", status, out)
	}
}

func TestPhotosRefusesBadInput(t *testing.T) {
	dir := photoFolder(t)
	table := filepath.Join(t.TempDir(), "scales.csv")
	if err := os.WriteFile(table, []byte("file,px_per_mm\na.jpg,twelve\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		field string
		args  []string
	}{
		{"dir", []string{filepath.Join(dir, "nowhere")}},
		{"dir", []string{t.TempDir()}},
		{"px-per-mm", []string{dir, "--px-per-mm", "2"}},
		{"px-per-mm", []string{dir, "--px-per-mm=-9"}},
		{"false-marks", []string{dir, "--false-marks=-1"}},
		{"scales", []string{dir, "--scales", table}},
		{"scales", []string{dir, "--scales", filepath.Join(dir, "nowhere.csv")}},
	} {
		status, out, errs := run(t, append([]string{"photos", "--json"}, c.args...)...)
		var p Problem
		if err := json.Unmarshal([]byte(errs), &p); err != nil || status != StatusInput || p.Field != c.field || p.Hint == "" || out != "" {
			t.Errorf("%v: status %d, %q, %q", c.args, status, out, errs)
		}
	}
}

func TestParseScales(t *testing.T) {
	got, err := parseScales(strings.NewReader("\ufefffile,note,px_per_mm\na.jpg,x,55.5\n\"b, 2.jpg\",,250\nc.jpg,,\n"))
	if err != nil || len(got) != 2 || got["a.jpg"] != 55.5 || got["b, 2.jpg"] != 250 {
		t.Errorf("%v, %v", got, err)
	}
	for _, bad := range []string{"", "name,scale\na,1\n", "file,px_per_mm\na.jpg\n", "file,px_per_mm\na.jpg,NaN\n", "file,px_per_mm\na.jpg,1e9\n", "file,px_per_mm\n\"a"} {
		if got, err := parseScales(strings.NewReader(bad)); err == nil {
			t.Errorf("%q gave %v", bad, got)
		}
	}
}

// FuzzParseScales checks that whatever a table holds, the scales that come out
// can be meant.
func FuzzParseScales(f *testing.F) {
	f.Add("file,px_per_mm\na.jpg,55\n")
	f.Fuzz(func(t *testing.T, table string) {
		scales, err := parseScales(strings.NewReader(table))
		if err != nil {
			return
		}
		for name, v := range scales {
			if !(v >= 15 && v <= 5000) {
				t.Fatalf("%q: %g", name, v)
			}
		}
	})
}

// TestPhotosRefusesHugeFiles holds that a file of 500 MB is named and not read:
// it has no blocks on the disk, so that reading it would be noticed by nobody
// but the memory.
func TestPhotosRefusesHugeFiles(t *testing.T) {
	dir := photoFolder(t)
	huge := filepath.Join(dir, "huge.jpg")
	if err := os.WriteFile(huge, []byte("\xff\xd8\xff"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(huge, 500<<20); err != nil {
		t.Skip("no sparse files here: ", err)
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	status, out, _ := run(t, "photos", dir)
	runtime.ReadMemStats(&after)
	if status != StatusDone || !strings.Contains(out, "huge.jpg: The file has 500 MB; at most 256 MB are read.") {
		t.Errorf("status %d:\n%s", status, out)
	}
	if took := after.TotalAlloc - before.TotalAlloc; took > 200<<20 {
		t.Errorf("%d MB were taken", took>>20)
	}
}
