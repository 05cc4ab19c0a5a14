// Package door keeps the desk's password and counts wrong ones.
//
// The password is kept as an argon2id hash in one file of the data folder that
// only its owner may read. There is one password for the desk; who did what is
// said by name on each entry, not by account.
package door

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"github.com/alexedwards/argon2id"
	"golang.org/x/time/rate"

	"holdfast/science/ref"
)

// fileName in the data folder.
const fileName = "password"

// params: 64 MiB, three passes, two lanes; RFC 9106 section 4 recommends
// three passes over 64 MiB where 2 GiB cannot be spared.
var params = &argon2id.Params{Memory: 64 << 10, Iterations: 3, Parallelism: 2, SaltLength: 16, KeyLength: 32}

// Shortest password taken, in characters, as NIST SP 800-63B rev. 4 asks of a
// password that stands alone; and the longest, so that hashing stays bounded.
const (
	Shortest = 15
	Longest  = 200
)

// Set writes the password's hash into the data folder.
func Set(dir, password string) error {
	n := utf8.RuneCountInString(password)
	switch {
	case !utf8.ValidString(password):
		return ref.Inputf("password", "Use letters your keyboard has.", "the password is not valid text")
	case n < Shortest:
		return ref.Inputf("password", "A few words in a row are long and easy to type.", "the password has %d characters, at least %d are needed", n, Shortest)
	case n > Longest:
		return ref.Inputf("password", "Use a shorter one.", "the password has %d characters, at most %d are taken", n, Longest)
	}
	hash, err := argon2id.CreateHash(password, params)
	if err != nil {
		return err
	}
	return write(filepath.Join(dir, fileName), hash+"\n")
}

// write replaces the file in one step, readable by its owner only.
func write(path, text string) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".password-*") // made with mode 0600
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // after the rename nothing of that name is left
	_, err = f.WriteString(text)
	err = errors.Join(err, f.Sync(), f.Close())
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

// Door knows the hash and how many tries are left.
type Door struct {
	hash string

	mu    sync.Mutex
	tries map[string]*rate.Limiter
	all   *rate.Limiter
	// one hash at a time: each takes 64 MiB
	busy chan struct{}
}

// ErrNoPassword says that none has been set in the data folder.
var ErrNoPassword = errors.New("no password has been set: run holdfast password")

// Open reads the hash from the data folder.
func Open(dir string) (*Door, error) {
	b, err := os.ReadFile(filepath.Join(dir, fileName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, ErrNoPassword
	}
	if err != nil {
		return nil, err
	}
	hash := strings.TrimSpace(string(b))
	if _, _, _, err := argon2id.DecodeHash(hash); err != nil {
		return nil, errors.Join(errors.New("the password file is damaged: set the password anew with holdfast password"), err)
	}
	return &Door{hash: hash, tries: map[string]*rate.Limiter{}, all: rate.NewLimiter(rate.Every(time.Second), 10), busy: make(chan struct{}, 1)}, nil
}

// Tries: five at once from one address, then one in twenty seconds; from all
// addresses together ten, then one a second. At that rate a guesser gets
// 86 400 tries a day, against 15 characters.
const (
	burst     = 5
	again     = 20 * time.Second
	addresses = 4096 // remembered; beyond, all are forgotten, and the common bound holds
)

// ErrTooMany says that too many tries came too fast.
var ErrTooMany = errors.New("too many tries")

// Check reports whether the password is right. from is the client's address.
func (d *Door) Check(password, from string) (bool, error) {
	if !d.may(from) {
		return false, ErrTooMany
	}
	if len(password) > 4*Longest {
		return false, nil
	}
	d.busy <- struct{}{}
	defer func() { <-d.busy }()
	return argon2id.ComparePasswordAndHash(password, d.hash)
}

func (d *Door) may(from string) bool {
	d.mu.Lock()
	defer d.mu.Unlock()
	l, ok := d.tries[from]
	if !ok {
		if len(d.tries) >= addresses {
			clear(d.tries)
		}
		l = rate.NewLimiter(rate.Every(again), burst)
		d.tries[from] = l
	}
	return l.Allow() && d.all.Allow()
}
