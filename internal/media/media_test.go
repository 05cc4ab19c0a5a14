package media

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"holdfast"
)

var jpeg = []byte("\xff\xd8\xff\xe0 an invented photograph")

func TestSaveKeepsTheBytesUnderTheirHash(t *testing.T) {
	dir := t.TempDir()
	s := Open(dir)
	for range 2 { // the second time changes nothing
		k, err := s.Save(bytes.NewReader(jpeg))
		if err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256(jpeg)
		if k.SHA256 != hex.EncodeToString(sum[:]) || k.Media != "image/jpeg" || k.Size != int64(len(jpeg)) {
			t.Fatalf("kept %+v", k)
		}
		f, media, err := s.Open(k.SHA256)
		if err != nil || media != "image/jpeg" {
			t.Fatal(media, err)
		}
		back, err := io.ReadAll(f)
		f.Close()
		if err != nil || !bytes.Equal(back, jpeg) {
			t.Errorf("read %q back (%v)", back, err)
		}
	}
	names, err := filepath.Glob(filepath.Join(dir, "photographs", "coming-*"))
	if err != nil || len(names) > 0 {
		t.Errorf("left %v behind", names)
	}
	to := t.TempDir()
	if n, err := s.CopyTo(to); n != 1 || err != nil {
		t.Errorf("copied %d (%v)", n, err)
	}
	if n, err := Open(t.TempDir()).CopyTo(to); n != 0 || err != nil {
		t.Errorf("an empty store copied %d (%v)", n, err)
	}
}

func TestSaveRefusesWhatIsNoPhotograph(t *testing.T) {
	dir := t.TempDir()
	for name, b := range map[string]string{"empty": "", "text": "hello", "script": "<svg onload=alert(1)>", "half": "\xff\xd8"} {
		if _, err := Open(dir).Save(strings.NewReader(b)); err == nil {
			t.Errorf("%s was kept", name)
		}
	}
	big := io.MultiReader(bytes.NewReader(jpeg), io.LimitReader(zeros{}, MaxBytes))
	if _, err := Open(dir).Save(big); err == nil {
		t.Error("a photograph of more than MaxBytes was kept")
	}
	left, _ := os.ReadDir(filepath.Join(dir, "photographs"))
	if len(left) > 0 {
		t.Errorf("%d files were left behind", len(left))
	}
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) { clear(p); return len(p), nil }

func TestOpenOfNonsense(t *testing.T) {
	for _, sum := range []string{"", "..", "../../etc/passwd", strings.Repeat("a", 64)} {
		_, _, err := Open(t.TempDir()).Open(sum)
		var e *holdfast.Error
		if err == nil {
			t.Errorf("%q was opened", sum)
		} else if !errors.As(err, &e) || e.Kind != holdfast.NotFound {
			t.Errorf("%q: %v", sum, err)
		}
	}
}
