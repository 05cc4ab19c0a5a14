package paper

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"holdfast/science/ref"
)

func picture(t testing.TB, w, h int, asPNG bool) []byte {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.Set(x, y, color.RGBA{uint8(x), uint8(y), 120, 255})
		}
	}
	var b bytes.Buffer
	var err error
	if asPNG {
		err = png.Encode(&b, img)
	} else {
		err = jpeg.Encode(&b, img, nil)
	}
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func sampleCase(t testing.TB) CaseFile {
	return CaseFile{
		Made:     time.Date(2026, 11, 25, 14, 10, 0, 0, time.UTC),
		About:    []string{"Lot 1910, tank 14, Matjašič’s worm ≥ 3 °C – µS"},
		Said:     []Said{{"Where is it?", "on the rostrum or between the eyes"}},
		Alarm:    []string{"many die within days and no cause is named"},
		Suspects: []CaseSuspect{{"Rostrum worm", "66 %", "on the rostrum", ""}, {"Dirt, plant fibre", "11 %", "", "white"}},
		Ask:      "Ask an aquatic veterinarian.",
		Photos:   []CasePhoto{{"a.jpg", picture(t, 2400, 1000, false)}, {"b.png", picture(t, 40, 90, true)}},
		Advice:   []Advice{{"Packing samples", []string{"Three layers.", "Send early in the week."}}},
	}
}

func TestCaseFileIsOneSoundPDF(t *testing.T) {
	var a, b bytes.Buffer
	c := sampleCase(t)
	if err := WriteCaseFile(&a, c); err != nil {
		t.Fatal(err)
	}
	if err := WriteCaseFile(&b, c); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("the same case gives other bytes")
	}
	if !bytes.HasPrefix(a.Bytes(), []byte("%PDF-")) || !bytes.Contains(a.Bytes(), []byte("/EmbeddedFile")) {
		t.Error("no PDF with attachments")
	}
	pages := bytes.Count(a.Bytes(), []byte("/Type /Page\n"))
	if pages != 4 {
		t.Errorf("%d pages, want 4: words, two photographs, advice", pages)
	}
}

// TestCaseFileReads asks poppler, a PDF library of its own, for the words and
// the attachments.
func TestCaseFileReads(t *testing.T) {
	text, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Skip("pdftotext is not installed (Debian: poppler-utils)")
	}
	file := filepath.Join(t.TempDir(), "case.pdf")
	f, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	c := sampleCase(t)
	if err := WriteCaseFile(f, c); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(text, "-layout", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"Rostrum worm, 66 % of the weight", "Matjašič’s worm ≥ 3 °C – µS", "Because many die", "Photograph 2: b.png", "Three layers."} {
		if !strings.Contains(string(out), want) {
			t.Errorf("%q is not in\n%s", want, out)
		}
	}
	out, err = exec.Command("pdfdetach", "-list", file).Output()
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(out), "01-a.jpg") || !strings.Contains(string(out), "02-b.png") {
		t.Errorf("attachments: %s", out)
	}
	back := filepath.Join(t.TempDir(), "a.jpg")
	if err := exec.Command("pdfdetach", "-save", "1", "-o", back, file).Run(); err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(back)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, c.Photos[0].Data) {
		t.Error("the photograph came out changed")
	}
}

func TestCaseFileRefuses(t *testing.T) {
	whole := picture(t, 60, 60, false)
	for name, data := range map[string][]byte{
		"empty": nil, "text": []byte("not a picture"), "cut": whole[:len(whole)/2],
		"huge": []byte("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x0f\xff\xff\x00\x0f\xff\xff\x08\x02\x00\x00\x00\x00\x00\x00\x00"),
	} {
		c := sampleCase(t)
		c.Photos = []CasePhoto{{name, data}}
		var in *ref.InputError
		if err := WriteCaseFile(&bytes.Buffer{}, c); !errors.As(err, &in) {
			t.Errorf("%s: %v", name, err)
		}
	}
	c := sampleCase(t)
	c.Photos = make([]CasePhoto, maxCasePhotos+1)
	if err := WriteCaseFile(&bytes.Buffer{}, c); err == nil {
		t.Error("too many photographs were taken")
	}
}

func FuzzCasePhoto(f *testing.F) {
	f.Add(picture(f, 20, 10, false))
	f.Add(picture(f, 10, 20, true))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 {
			return
		}
		var b bytes.Buffer
		_ = WriteCaseFile(&b, CaseFile{Photos: []CasePhoto{{"x", data}}})
	})
}
