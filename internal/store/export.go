package store

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"

	"holdfast"
	"holdfast/desk"
)

// Formats of the files that Export and ExportBuyers write, with the versions
// that this program writes and reads.
const (
	JournalFormat  = "holdfast-journal"
	JournalVersion = 1
	BuyersFormat   = "holdfast-buyers"
	BuyersVersion  = 1
)

// header is the first line of an export.
type header struct {
	Format  string `json:"format"`
	Version int    `json:"version"`
	Count   int64  `json:"count"`
	// Site, Seq and Hash say whose journal it is and how its chain ends.
	Site string `json:"site,omitempty"`
	Seq  int64  `json:"seq,omitempty"`
	Hash string `json:"hash,omitempty"`
}

// Export writes the journal as JSON lines, as it stands at one moment: a header,
// then each entry's canonical bytes in order of acceptance. The hash in the
// header, written down elsewhere, proves later that nothing was changed. Buyers
// are not part of it.
func (s *Store) Export(ctx context.Context, w io.Writer) error {
	out := bufio.NewWriter(w)
	err := s.read(ctx, func(t *session) error {
		h, err := t.head(ctx)
		if err != nil {
			return err
		}
		if err := writeLine(out, header{Format: JournalFormat, Version: JournalVersion, Count: h.seq, Site: h.site, Seq: h.seq, Hash: h.hash.String()}); err != nil {
			return err
		}
		return t.entries(ctx, 0, func(e holdfast.Entry) error {
			line, err := e.Canonical()
			if err != nil {
				return err
			}
			_, err = out.Write(append(line, '\n'))
			return err
		})
	})
	if err != nil {
		return err
	}
	return out.Flush()
}

func writeLine(w io.Writer, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// ExportBuyers writes who stands behind the pseudonyms as JSON lines. It is a
// file of its own because it is personal data.
func (s *Store) ExportBuyers(ctx context.Context, w io.Writer) error {
	all, err := s.Buyers(ctx)
	if err != nil {
		return err
	}
	out := bufio.NewWriter(w)
	if err := writeLine(out, header{Format: BuyersFormat, Version: BuyersVersion, Count: int64(len(all))}); err != nil {
		return err
	}
	for _, b := range all {
		if err := writeLine(out, b); err != nil {
			return err
		}
	}
	return out.Flush()
}

// Import reads what Export wrote into an empty store. Afterwards the store holds
// the same entries with the same numbers and hashes and the same rows; what is
// not exactly so is refused, and nothing of it is kept.
func (s *Store) Import(ctx context.Context, r io.Reader) error {
	in := newLines(r)
	h, err := in.header(JournalFormat, JournalVersion)
	if err != nil {
		return err
	}
	var w *writer
	return s.write(ctx, func(ctx context.Context, t *session) error {
		old, err := t.head(ctx)
		if err != nil {
			return err
		}
		if old.site != "" {
			return &holdfast.Error{Kind: holdfast.Refused, Field: "data", Message: fmt.Sprintf("the data folder holds a journal of %d entries already; nothing was read", old.seq),
				Hint: "Import into a new data folder."}
		}
		if h.Count == 0 {
			return in.end()
		}
		if w, err = newWriter(ctx, t, h.Site); err != nil {
			return err
		}
		w.fresh = nil
		if err := in.entries(ctx, w, h.Count); err != nil {
			return err
		}
		if got := w.head; got.seq != h.Seq || got.hash.String() != h.Hash {
			return &holdfast.Error{Kind: holdfast.Invalid, Message: "the entries do not give the hash in the file's first line: the file was changed, or its lines were put in another order",
				Hint: "Use a file that holdfast export wrote, unchanged."}
		}
		return newFolder(t, s.sum, nil, nil).write(ctx, w.touched)
	}, func() {
		if w != nil {
			s.cache.commit(w.touched, nil, nil)
		}
	})
}

// ImportBuyers reads what ExportBuyers wrote. Buyers that are known already are
// replaced.
func (s *Store) ImportBuyers(ctx context.Context, r io.Reader) error {
	in := newLines(r)
	h, err := in.header(BuyersFormat, BuyersVersion)
	if err != nil {
		return err
	}
	return s.write(ctx, func(ctx context.Context, t *session) error {
		for range h.Count {
			line, err := in.next()
			if err != nil {
				return err
			}
			var b desk.Buyer
			if err := strictly(line, &b); err != nil {
				return in.bad("this is not a buyer: %v", err)
			}
			if err := t.saveBuyer(ctx, b); err != nil {
				return in.at(err)
			}
		}
		return in.end()
	}, nil)
}

// maxLine bounds a line: the longest entry that is accepted is far shorter.
const maxLine = 64 << 20

// lines reads an export line by line and knows where it is.
type lines struct {
	scan *bufio.Scanner
	no   int
}

func newLines(r io.Reader) *lines {
	s := bufio.NewScanner(r)
	s.Buffer(make([]byte, 64<<10), maxLine)
	return &lines{scan: s}
}

// next returns the next line that is not blank. The end of the file is an error.
func (l *lines) next() ([]byte, error) {
	for l.scan.Scan() {
		l.no++
		if line := bytes.TrimSpace(l.scan.Bytes()); len(line) > 0 {
			return line, nil
		}
	}
	if err := l.scan.Err(); err != nil {
		l.no++
		return nil, l.bad("%v", err)
	}
	return nil, l.bad("the file ends here, though more should follow")
}

// end makes sure that nothing follows.
func (l *lines) end() error {
	for l.scan.Scan() {
		l.no++
		if len(bytes.TrimSpace(l.scan.Bytes())) > 0 {
			return l.bad("the file goes on, though its first line says that nothing follows")
		}
	}
	if err := l.scan.Err(); err != nil {
		l.no++
		return l.bad("%v", err)
	}
	return nil
}

func (l *lines) bad(format string, args ...any) error {
	return &holdfast.Error{Kind: holdfast.Invalid, Field: fmt.Sprintf("line %d", l.no), Message: fmt.Sprintf(format, args...),
		Hint: "Use a file that holdfast export wrote, unchanged."}
}

func (l *lines) at(err error) error { return fmt.Errorf("line %d: %w", l.no, err) }

func (l *lines) header(format string, version int) (header, error) {
	line, err := l.next()
	if err != nil {
		return header{}, err
	}
	var h header
	if err := strictly(line, &h); err != nil || h.Format != format {
		return h, l.bad("this is not the first line of a %s file", format)
	}
	if h.Version != version {
		return h, &holdfast.Error{Kind: holdfast.Invalid, Field: "version", Message: fmt.Sprintf("the file is of version %d, this program reads version %d", h.Version, version),
			Hint: "Use the holdfast that wrote it, or a newer one."}
	}
	if h.Count < 0 || format == JournalFormat && (h.Seq != h.Count || h.Count > 0 && !holdfast.ValidName(h.Site)) {
		return h, l.bad("the first line contradicts itself")
	}
	return h, nil
}

func strictly(line []byte, v any) error {
	dec := json.NewDecoder(bytes.NewReader(line))
	dec.DisallowUnknownFields()
	if err := dec.Decode(v); err != nil {
		return err
	}
	if dec.More() {
		return fmt.Errorf("more than one value")
	}
	return nil
}

// entries appends the entries of the next count lines.
func (l *lines) entries(ctx context.Context, w *writer, count int64) error {
	for range count {
		line, err := l.next()
		if err != nil {
			return err
		}
		e, err := holdfast.ReadEntry(line)
		if err != nil {
			return l.at(err)
		}
		var twice int
		if err := w.s.row(ctx, `SELECT count(*) FROM entry WHERE id = $1`, []any{e.ID}, &twice); err != nil {
			return err
		}
		if twice > 0 {
			return l.bad("entry %s stands here for the second time", e.ID)
		}
		if _, err := w.append(ctx, e); err != nil {
			return l.at(err)
		}
	}
	if err := l.end(); err != nil {
		return err
	}
	return w.end(ctx)
}
