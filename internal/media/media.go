// Package media keeps photographs as they came, under the SHA-256 of their
// bytes. A photograph is on the disk for good before the entry that names it is
// written; nothing is ever changed or deleted here.
package media

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"holdfast"
	"holdfast/photo"
)

// MaxBytes is the largest photograph taken: camera raw files reach 200 MB.
const MaxBytes = 256 << 20

// Store is a folder of photographs.
type Store struct{ dir string }

// Open returns the store in the folder photographs of a data folder. The
// folder is made with the first photograph.
func Open(dataDir string) *Store { return &Store{filepath.Join(dataDir, "photographs")} }

// Kept is a photograph that is on the disk.
type Kept struct {
	SHA256 string
	Size   int64
	Media  string
}

// Save keeps the photograph that r holds. What it is follows from its bytes,
// not from a name. A photograph that is there already is kept once.
func (s *Store) Save(r io.Reader) (Kept, error) {
	if err := os.MkdirAll(s.dir, 0o700); err != nil {
		return Kept{}, err
	}
	f, err := os.CreateTemp(s.dir, "coming-*")
	if err != nil {
		return Kept{}, err
	}
	defer os.Remove(f.Name()) // gone already after the rename
	defer f.Close()
	var head bytes.Buffer
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(f, sum, &first{&head, 32}), io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return Kept{}, err
	}
	if n > MaxBytes {
		return Kept{}, refuse("the photograph is larger than 256 MB", "Send the camera's JPEG.")
	}
	if n == 0 {
		return Kept{}, refuse("the file is empty", "Copy it from the card or the camera again.")
	}
	k := Kept{SHA256: hex.EncodeToString(sum.Sum(nil)), Size: n, Media: mediaOf(head.Bytes())}
	if k.Media == "" {
		return Kept{}, refuse("this is not a photograph that can be kept", "Choose a JPEG, PNG, WebP, HEIC or TIFF file.")
	}
	return k, s.settle(f, k)
}

// settle moves the written file to its name, so that after a power cut it is
// there whole or not at all.
func (s *Store) settle(f *os.File, k Kept) error {
	path := s.path(k.SHA256)
	if _, err := os.Stat(path); err == nil {
		return nil
	}
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Chmod(0o400); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	for _, dir := range []string{filepath.Dir(path), s.dir} {
		if err := syncDir(dir); err != nil {
			return err
		}
	}
	return nil
}

func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// path of a photograph: the first two digits are a folder.
func (s *Store) path(sum string) string { return filepath.Join(s.dir, sum[:2], sum) }

// Open returns a photograph and what it is, or a NotFound error.
func (s *Store) Open(sum string) (*os.File, string, error) {
	if _, err := holdfast.ParseHash(sum); err != nil {
		return nil, "", missing()
	}
	f, err := os.Open(s.path(sum))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, "", missing()
	}
	if err != nil {
		return nil, "", err
	}
	head := make([]byte, 32)
	n, _ := f.ReadAt(head, 0)
	return f, mediaOf(head[:n]), nil
}

// CopyTo copies every photograph into another data folder, for a backup.
func (s *Store) CopyTo(dataDir string) (int, error) {
	to, n := Open(dataDir), 0
	err := filepath.WalkDir(s.dir, func(path string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		if err != nil || d.IsDir() || len(d.Name()) != 64 {
			return err
		}
		f, err := os.Open(path)
		if err != nil {
			return err
		}
		defer f.Close()
		k, err := to.Save(f)
		if err == nil && k.SHA256 != d.Name() {
			err = fmt.Errorf("photograph %s holds other bytes than it was kept with", d.Name())
		}
		n++
		return err
	})
	return n, err
}

func missing() error {
	return &holdfast.Error{Kind: holdfast.NotFound, Message: "There is no such photograph.", Hint: "See the photographs of the lot."}
}

func refuse(message, hint string) error {
	return holdfast.Problems{{Field: "photo", Message: message, Hint: hint}}
}

// first keeps the first n bytes written to it.
type first struct {
	b *bytes.Buffer
	n int
}

func (f *first) Write(p []byte) (int, error) {
	if room := f.n - f.b.Len(); room > 0 {
		f.b.Write(p[:min(room, len(p))])
	}
	return len(p), nil
}

// mediaOf tells a photograph by its first bytes. Camera raw files of the TIFF
// family are TIFF files.
func mediaOf(b []byte) string {
	switch photo.Sniff(b) {
	case photo.JPEG:
		return "image/jpeg"
	case photo.PNG:
		return "image/png"
	case photo.WebP:
		return "image/webp"
	case photo.HEIC:
		return "image/heic"
	case photo.TIFF:
		return "image/tiff"
	}
	return ""
}
