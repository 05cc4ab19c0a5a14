package holdfast

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"
	"time"
)

// Micros is an instant: microseconds since 1970-01-01 UTC.
type Micros int64

// MicrosOf converts a time, dropping what is finer than a microsecond.
func MicrosOf(t time.Time) Micros { return Micros(t.UnixMicro()) }

// In returns the instant as a time in the given zone.
func (m Micros) In(loc *time.Location) time.Time { return time.UnixMicro(int64(m)).In(loc) }

// Entry is one thing that happened: who says so, when, to which lot or tank,
// and what. An accepted entry never changes; a mistake is put right by another
// entry of kind [KindCorrection].
type Entry struct {
	ID ID `json:"id"`
	// OccurredAt is when it happened, and OffsetMin the UTC offset of the
	// clock it was read from, in minutes east.
	OccurredAt Micros `json:"occurred_at"`
	OffsetMin  int    `json:"offset_min"`
	// RecordedAt is when it was written down, on the device that wrote it.
	RecordedAt Micros `json:"recorded_at"`
	Who        string `json:"who"`
	Site       string `json:"site"`
	Lot        string `json:"lot,omitempty"`
	Tank       string `json:"tank,omitempty"`
	Kind       Kind   `json:"kind"`
	// Version is the version of the kind's payload layout.
	Version int `json:"v"`
	// Payload holds the kind's fields as canonical JSON: the bytes that
	// [Encode] writes. They are stored and hashed as they are.
	Payload json.RawMessage `json:"payload"`

	// Seq and Hash are given on acceptance and are not part of the canonical
	// bytes: the entry's place in its site's chain and the hash at that place.
	Seq  int64 `json:"-"`
	Hash Hash  `json:"-"`
}

// Hash is a SHA-256 sum; the chain of a site starts from the zero Hash.
type Hash [sha256.Size]byte

func (h Hash) String() string { return hex.EncodeToString(h[:]) }

// ParseHash reads the text form of a hash.
func ParseHash(s string) (Hash, error) {
	var h Hash
	b, err := hex.DecodeString(s)
	if err != nil || len(b) != len(h) {
		return h, fmt.Errorf("%q is not a SHA-256 sum", s)
	}
	copy(h[:], b)
	return h, nil
}

// Canonical returns the bytes that are hashed and exported: one JSON object
// with the fields in the order of the struct, no white space, no HTML escapes.
func (e Entry) Canonical() ([]byte, error) { return marshal(e) }

// Link returns the chain's hash after an entry with these canonical bytes:
// SHA-256 of the previous hash followed by the bytes.
func (h Hash) Link(canonical []byte) Hash {
	s := sha256.New()
	s.Write(h[:])
	s.Write(canonical)
	var next Hash
	s.Sum(next[:0])
	return next
}

// marshal is json.Marshal without HTML escapes: "<5" stays readable in an
// export and the bytes do not depend on who wrote them.
func marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

// ReadEntry reads canonical bytes, as an export holds them. It refuses unknown
// fields and bytes that are not canonical, since their hash would differ.
func ReadEntry(line []byte) (Entry, error) {
	var e Entry
	dec := json.NewDecoder(bytes.NewReader(line))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&e); err != nil {
		return e, &Error{Kind: Invalid, Message: "this line is not a journal entry: " + err.Error(), Hint: "Use a file that holdfast export wrote, unchanged."}
	}
	if err := e.Check(); err != nil {
		return e, err
	}
	again, err := e.Canonical()
	if err != nil {
		return e, err
	}
	if !bytes.Equal(again, bytes.TrimSpace(line)) {
		return e, &Error{Kind: Invalid, Message: "entry " + string(e.ID) + " is not in canonical form", Hint: "Use a file that holdfast export wrote, unchanged."}
	}
	return e, nil
}

// Check reports everything that is wrong with the entry, payload included.
func (e Entry) Check() error {
	var c checker
	if !e.ID.Valid() {
		c.add("id", "Make the id where the entry is recorded.", "%q is not a UUIDv7", e.ID)
	}
	c.instant("occurred_at", e.OccurredAt)
	c.instant("recorded_at", e.RecordedAt)
	if e.OffsetMin < -14*60 || e.OffsetMin > 14*60 {
		c.add("offset_min", "Offsets run from -840 to 840 minutes.", "%d minutes is no offset from UTC", e.OffsetMin)
	}
	c.text("who", e.Who, 1, 80)
	c.name("site", e.Site)
	if e.Lot != "" {
		c.name("lot", e.Lot)
	}
	if e.Tank != "" {
		c.name("tank", e.Tank)
	}
	ev, err := e.Decode()
	if err != nil {
		c.add("payload", "See the list of kinds.", "%v", err)
		return c.problems.Err()
	}
	ev.Payload.check(&c)
	ev.checkSubject(&c)
	canonical, err := marshal(ev.Payload)
	if err != nil {
		c.add("payload", "Numbers must be finite.", "%v", err)
	} else if !bytes.Equal(canonical, e.Payload) {
		c.add("payload", "Write the payload as the kind's canonical JSON.", "the payload of %s is not canonical", e.Kind)
	}
	return c.problems.Err()
}

// Encode writes a payload's canonical bytes into the entry, with its kind and
// the kind's version.
func (e *Entry) Encode(p Payload) error {
	b, err := marshal(p)
	if err != nil {
		return err
	}
	e.Kind, e.Version, e.Payload = p.Kind(), kinds[p.Kind()].version, b
	return nil
}

// Event is an entry with its payload decoded.
type Event struct {
	Entry
	Payload Payload
}

// Decode reads the payload. Unknown kinds, versions and fields are errors: an
// old program must not half-understand a newer journal.
func (e Entry) Decode() (Event, error) {
	k, ok := kinds[e.Kind]
	if !ok {
		return Event{}, fmt.Errorf("unknown kind %q", e.Kind)
	}
	if e.Version != k.version {
		return Event{}, fmt.Errorf("kind %s has version %d, this program reads %d", e.Kind, e.Version, k.version)
	}
	p := k.make()
	dec := json.NewDecoder(bytes.NewReader(e.Payload))
	dec.DisallowUnknownFields()
	if err := dec.Decode(p); err != nil {
		return Event{}, fmt.Errorf("payload of %s: %w", e.Kind, err)
	}
	return Event{Entry: e, Payload: p}, nil
}

// byTime orders events as state is folded: by the time they happened, then by
// id.
func byTime(a, b Event) int {
	if a.OccurredAt != b.OccurredAt { // nearly always; the ids need not be read
		return cmp.Compare(a.OccurredAt, b.OccurredAt)
	}
	return cmp.Compare(a.ID, b.ID)
}

// sorted returns the events in folding order, leaving the argument as it is.
// Most histories arrive in order, and then nothing is copied.
func sorted(events []Event) []Event {
	if slices.IsSortedFunc(events, byTime) {
		return events
	}
	events = slices.Clone(events)
	slices.SortFunc(events, byTime)
	return events
}
