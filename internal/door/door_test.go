package door_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"holdfast/internal/door"
	"holdfast/science/ref"
)

const word = "five shrimp in a bucket"

func TestPassword(t *testing.T) {
	dir := t.TempDir()
	if _, err := door.Open(dir); !errors.Is(err, door.ErrNoPassword) {
		t.Fatalf("a folder without password opens: %v", err)
	}
	if err := door.Set(dir, word); err != nil {
		t.Fatal(err)
	}
	d, err := door.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	for password, want := range map[string]bool{word: true, word + " ": false, "": false, strings.Repeat("x", 1<<20): false} {
		if ok, err := d.Check(password, password); ok != want || err != nil {
			t.Errorf("%.30q: %v %v", password, ok, err)
		}
	}
	names, err := os.ReadDir(dir)
	if err != nil || len(names) != 1 {
		t.Fatalf("%v, %v", names, err)
	}
	b, err := os.ReadFile(filepath.Join(dir, names[0].Name()))
	if err != nil || strings.Contains(string(b), word) || !strings.HasPrefix(string(b), "$argon2id$") {
		t.Errorf("the file holds %q (%v)", b, err)
	}
	if info, err := names[0].Info(); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v (%v)", info.Mode(), err)
	}
}

func TestPasswordsThatAreRefused(t *testing.T) {
	dir := t.TempDir()
	for _, bad := range []string{"", "short", strings.Repeat("x", 201), strings.Repeat("\xff", 20)} {
		var in *ref.InputError
		if err := door.Set(dir, bad); !errors.As(err, &in) || in.Field != "password" || in.Hint == "" {
			t.Errorf("%.20q: %v", bad, err)
		}
	}
	if names, _ := os.ReadDir(dir); len(names) != 0 {
		t.Errorf("a refused password left %v", names)
	}
}

func TestDamagedFileIsNoOpenDoor(t *testing.T) {
	dir := t.TempDir()
	for _, text := range []string{"", "\n", "plain", "$argon2id$v=19$m=65536"} {
		if err := os.WriteFile(filepath.Join(dir, "password"), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := door.Open(dir); err == nil || errors.Is(err, door.ErrNoPassword) {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestTriesAreBounded(t *testing.T) {
	dir := t.TempDir()
	if err := door.Set(dir, word); err != nil {
		t.Fatal(err)
	}
	d, err := door.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	tooLong := strings.Repeat("x", 10_000) // refused before it is hashed
	refused := 0
	for range 20 {
		if _, err := d.Check(tooLong, "10.0.0.7"); errors.Is(err, door.ErrTooMany) {
			refused++
		}
	}
	if refused != 15 {
		t.Errorf("%d of 20 tries from one address refused, want 15", refused)
	}
	if ok, err := d.Check(word, "10.0.0.8"); !ok || err != nil {
		t.Errorf("another address is locked out too: %v %v", ok, err)
	}
}
