package lots

import (
	"bytes"
	"io"
	"testing"

	"holdfast/internal/store/sqlite"
	"holdfast/internal/store/storetest"
)

// BenchmarkVerify checks the big journal.
func BenchmarkVerify(b *testing.B) {
	s, _ := shop(b)
	for b.Loop() {
		if found, err := s.Verify(b.Context(), nil); err != nil || len(found) > 0 {
			b.Fatal(found, err)
		}
	}
}

// BenchmarkExport writes the big journal as JSON lines to nowhere.
func BenchmarkExport(b *testing.B) {
	s, _ := shop(b)
	for b.Loop() {
		if err := s.Export(b.Context(), io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkImport reads the big journal into an empty folder.
func BenchmarkImport(b *testing.B) {
	s, _ := shop(b)
	var file bytes.Buffer
	if err := s.Export(b.Context(), &file); err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(file.Len()))
	for b.Loop() {
		again, err := sqlite.Open(b.Context(), b.TempDir(), storetest.Summariser{}, sqlite.Options{})
		if err != nil {
			b.Fatal(err)
		}
		if err := again.Import(b.Context(), bytes.NewReader(file.Bytes())); err != nil {
			b.Fatal(err)
		}
		if err := again.Close(); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkOpen opens and closes a data folder that is up to date.
func BenchmarkOpen(b *testing.B) {
	dir := b.TempDir()
	for b.Loop() {
		s, err := sqlite.Open(b.Context(), dir, storetest.Summariser{}, sqlite.Options{})
		if err != nil {
			b.Fatal(err)
		}
		if err := s.Close(); err != nil {
			b.Fatal(err)
		}
	}
}
