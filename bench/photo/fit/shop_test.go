package main

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"holdfast/photo"
)

// A refit that is better on verdicts it had not seen is written and can be read
// again; one that learned nothing is not.
func TestARefitIsTakenOrRefused(t *testing.T) {
	old := photo.BuiltIn().Rows
	verdicts := func(told bool) (all []photo.Verdict) {
		rng := rand.New(rand.NewPCG(3, 5))
		for i := range 240 {
			x, z := make([]float64, len(old.Features)), 0.0
			for j := range x {
				u := rng.NormFloat64()
				x[j] = old.Mean[j] + old.SD[j]*u
				if told && j == 3 {
					z -= 3 * u
				}
				if told && j == 8 {
					z += 2.5 * u
				}
			}
			all = append(all, photo.Verdict{Photo: fmt.Sprint("A/", i/6), Features: x, Real: rng.Float64() < 1/(1+math.Exp(-z))})
		}
		return all
	}
	for _, told := range []bool{true, false} {
		*out, *version = t.TempDir(), "shop-1"
		if err := learn(verdicts(told), 40); err != nil {
			t.Fatal(err)
		}
		b, err := os.ReadFile(filepath.Join(*out, "rows.json"))
		if !told {
			if err == nil {
				t.Error("verdicts that say nothing made a model")
			}
			continue
		}
		var m photo.Logistic
		if err := json.Unmarshal(b, &m); err != nil || m.Check(photo.FeaturesOf(photo.Dots)) != nil || m.Version != "shop-1" || m.Weight[3] >= old.Weight[3] || m.Weight[8] <= old.Weight[8] {
			t.Errorf("what was written did not learn: %v", err)
		}
	}
}

// The places of a desk's table are found again among the marks of its
// photographs.
func TestVerdictsOfADeskAreFoundAgain(t *testing.T) {
	data := t.TempDir()
	raw, err := os.ReadFile("../../../internal/demo/photographs/drawn-212.jpg")
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(raw)
	sha := hex.EncodeToString(sum[:])
	dir := filepath.Join(data, "photographs", sha[:2])
	if err := os.MkdirAll(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, sha), raw, 0o600); err != nil {
		t.Fatal(err)
	}
	const scale = 80
	_, report, err := new(photo.Decoder).Examine(raw, scale)
	if err != nil {
		t.Fatal(err)
	}
	table := "crop,photograph,lot,animal,side,px_per_mm,x,y,w,h,verdict,who,day\n"
	marks := 0
	for _, m := range report.Marks {
		if m.Kind == photo.Dots {
			marks++
			table += fmt.Sprintf(",%s,A,2,left,%d,%d,%d,%d,%d,%s,Mara,2026-09-01\n", sha, scale, int(m.X), int(m.Y), int(m.W), int(m.H), []string{"egg_row", "pigment"}[marks%2])
		}
	}
	table += fmt.Sprintf(",%s,A,2,left,0,1,1,9,9,egg_row,Mara,2026-09-01\n", sha) // read without a scale
	name := filepath.Join(data, "labels.csv")
	write := func(s string) {
		t.Helper()
		if err := os.WriteFile(name, []byte(s), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write(table)
	photos, err := readLabels(name)
	if err != nil || len(photos) != 1 || len(photos[0].places) != marks || marks == 0 {
		t.Fatalf("%d photographs of one with %d marks, %v", len(photos), marks, err)
	}
	verdicts, found, err := shopVerdicts(photos, data)
	if err != nil || found != marks || verdicts[0].Real || verdicts[0].Photo != "A/2" {
		t.Errorf("%d of %d marks found again, %v", found, marks, err)
	}
	if err := fitShop(name, data); err != nil { // too few to learn from is an answer
		t.Error(err)
	}
	for _, bad := range []string{"", "a,b\n1,2\n", strings.Replace(table, ",left,80,", ",left,x,", 1)} {
		write(bad)
		if _, err := readLabels(name); err == nil {
			t.Errorf("%.20q is read as a table", bad)
		}
	}
}
