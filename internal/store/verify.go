package store

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"holdfast"
)

// Finding is one thing that is wrong with a store.
type Finding struct {
	// Code names the class of fault, see the constants.
	Code string `json:"code"`
	// Entry and Seq are the entry at which it shows, if it shows at one.
	Entry holdfast.ID `json:"entry,omitempty"`
	Seq   int64       `json:"seq,omitempty"`
	// Type and ID are the lot, tank or delivery it concerns, if it concerns one.
	Type holdfast.SubjectType `json:"subject_type,omitempty"`
	ID   string               `json:"subject_id,omitempty"`
	// Says is the fault in plain words.
	Says string `json:"says"`
}

// Codes of findings.
const (
	FileDamaged    = "file_damaged"    // the database reports a fault of its own
	EntryMissing   = "entry_missing"   // numbers are missing from the journal
	EntryUnread    = "entry_unread"    // an entry is not one that this program would accept
	EntryChanged   = "entry_changed"   // an entry does not fit the chain
	EntrySite      = "entry_site"      // an entry of another site
	HeadWrong      = "head_wrong"      // the journal does not end where the chain says
	SubjectMissing = "subject_missing" // an entry is not listed under what it bears on
	SubjectWrong   = "subject_wrong"   // an entry is listed under something else
	RowMissing     = "row_missing"     // a row for lists is missing
	RowWrong       = "row_wrong"       // a row does not follow from the entries
	RowExtra       = "row_extra"       // a row for lists of something that has none
	RowsOld        = "rows_old"        // the rows are of another version
	RowsUnchecked  = "rows_unchecked"  // rows could not be checked
	TooMany        = "too_many"        // more was found than is listed
)

// maxFindings is how many findings are listed.
const maxFindings = 1000

// errEnough ends a check that has found enough.
var errEnough = errors.New("enough findings")

// Verify checks everything the store holds, inside one read transaction: the
// file, that the entries are numbered without gaps, readable, and chained; that
// the chain ends where its head says; that each entry is listed under what it
// bears on; and, by folding everything again, that the rows of the lists follow
// from the entries byte by byte. It changes nothing and works beside a running
// desk. progress, which may be nil, is told how far it is.
//
// A journal of which every hash was computed again after a change passes: only
// a head hash that was written down elsewhere can show that.
func (s *Store) Verify(ctx context.Context, progress func(done, total int)) ([]Finding, error) {
	if progress == nil {
		progress = func(int, int) {}
	}
	v := &verifier{sum: s.sum, progress: progress, expected: map[holdfast.Subject][]int64{}}
	err := s.read(ctx, func(t *session) error {
		v.s = t
		return v.run(ctx, s.engine)
	})
	if errors.Is(err, errEnough) {
		v.findings = append(v.findings, Finding{Code: TooMany, Says: fmt.Sprintf("More than %d things are wrong; the check stopped here.", maxFindings)})
		err = nil
	}
	return v.findings, err
}

type verifier struct {
	s        *session
	sum      holdfast.Summariser
	progress func(done, total int)
	findings []Finding

	done, total int
	site        string
	last        holdfast.Entry // the last one read
	// expected lists, by subject, the numbers of the entries that bear on it.
	expected    map[holdfast.Subject][]int64
	corrections []holdfast.Event
	unreadable  map[int64]bool
	// wrong are the subjects whose list in entry_subject is not the expected.
	wrong map[holdfast.Subject][]int64
}

func (v *verifier) run(ctx context.Context, e Engine) error {
	faults, err := e.Inspect(ctx, v.s.tx)
	if err != nil {
		return err
	}
	for _, says := range faults {
		if err := v.found(Finding{Code: FileDamaged, Says: "The database file is damaged: " + says + "."}); err != nil {
			return err
		}
	}
	for _, step := range []func(context.Context) error{v.count, v.entries, v.head, v.correctionSubjects, v.subjects, v.rows} {
		if err := step(ctx); err != nil {
			return err
		}
	}
	return nil
}

func (v *verifier) found(f Finding) error {
	v.findings = append(v.findings, f)
	if len(v.findings) >= maxFindings {
		return errEnough
	}
	return nil
}

// about is a finding at an entry.
func about(e holdfast.Entry, code, format string, args ...any) Finding {
	f := Finding{Code: code, Entry: e.ID, Seq: e.Seq, Says: fmt.Sprintf("Entry %s (%s) ", e.ID, place(e)) + fmt.Sprintf(format, args...)}
	switch {
	case e.Lot != "":
		f.Type, f.ID = holdfast.SubjectLot, e.Lot
	case e.Tank != "":
		f.Type, f.ID = holdfast.SubjectTank, e.Tank
	}
	return f
}

// place says where an entry stands in words.
func place(e holdfast.Entry) string {
	parts := []string{fmt.Sprintf("no. %d", e.Seq), string(e.Kind)}
	if e.Lot != "" {
		parts = append(parts, "lot "+e.Lot)
	}
	if e.Tank != "" {
		parts = append(parts, "tank "+e.Tank)
	}
	return strings.Join(parts, ", ")
}

// step counts one more thing as checked.
func (v *verifier) step() {
	v.done++
	if v.done%1000 == 0 {
		v.progress(v.done, max(v.done, v.total))
	}
}

func (v *verifier) count(ctx context.Context) error {
	for _, table := range []string{"entry", "lot_row", "tank_row", "consignment_row"} {
		var n int
		if err := v.s.row(ctx, `SELECT count(*) FROM `+table, nil, &n); err != nil {
			return err
		}
		v.total += n
	}
	return nil
}

// entries checks each entry by itself and against the one before it.
func (v *verifier) entries(ctx context.Context) error {
	v.unreadable = map[int64]bool{}
	return v.s.entries(ctx, 0, func(e holdfast.Entry) error {
		v.step()
		if v.site == "" {
			v.site = e.Site
		}
		before := v.last
		v.last = e
		if e.Seq > before.Seq+1 {
			if err := v.found(gap(before.Seq+1, e)); err != nil {
				return err
			}
		}
		if e.Site != v.site {
			if err := v.found(about(e, EntrySite, "is of site %s in the journal of site %s.", e.Site, v.site)); err != nil {
				return err
			}
		}
		ev, err := readable(e)
		if err != nil {
			v.unreadable[e.Seq] = true
			if err := v.found(about(e, EntryUnread, "cannot be what was accepted: %v.", err)); err != nil {
				return err
			}
		} else {
			v.expect(ev)
		}
		if e.Seq != before.Seq+1 {
			return nil // what it was chained to is missing
		}
		if canonical, err := e.Canonical(); err != nil || before.Hash.Link(canonical) != e.Hash {
			return v.found(about(e, EntryChanged, "was changed after it was accepted, or its hash or the one before it was."))
		}
		return nil
	})
}

func gap(first int64, e holdfast.Entry) Finding {
	f := Finding{Code: EntryMissing, Seq: first, Says: fmt.Sprintf("Entry no. %d is missing.", first)}
	if n := e.Seq - first; n > 1 {
		f.Says = fmt.Sprintf("Entries no. %d to %d are missing.", first, e.Seq-1)
	}
	return f
}

// readable returns the entry decoded, or what keeps it from being accepted.
func readable(e holdfast.Entry) (holdfast.Event, error) {
	if err := e.Check(); err != nil {
		return holdfast.Event{}, err
	}
	return e.Decode()
}

func (v *verifier) expect(ev holdfast.Event) {
	for _, sub := range ev.Subjects() {
		v.expected[sub] = append(v.expected[sub], ev.Seq)
	}
	if corrects(ev) != "" {
		v.corrections = append(v.corrections, ev)
	}
}

// head checks that the journal ends where the head of the chain says.
func (v *verifier) head(ctx context.Context) error {
	var heads []head
	err := v.s.each(ctx, `SELECT site, seq, hash FROM site_head ORDER BY site`, nil, func(scan scan) error {
		var h head
		var hash []byte
		err := scan(&h.site, &h.seq, &hash)
		copy(h.hash[:], hash)
		heads = append(heads, h)
		return err
	})
	if err != nil {
		return err
	}
	switch {
	case len(heads) == 0 && v.last.Seq == 0:
		return nil
	case len(heads) == 0:
		return v.found(Finding{Code: HeadWrong, Says: fmt.Sprintf("The head of the chain is missing; the journal ends with no. %d.", v.last.Seq)})
	case len(heads) > 1:
		return v.found(Finding{Code: HeadWrong, Says: fmt.Sprintf("The chain has %d heads, one for each of several sites; a journal has one.", len(heads))})
	}
	h := heads[0]
	switch {
	case h.site != v.site:
		return v.found(Finding{Code: HeadWrong, Says: fmt.Sprintf("The head of the chain is of site %q, the entries are of site %q.", h.site, v.site)})
	case h.seq > v.last.Seq:
		return v.found(Finding{Code: EntryMissing, Seq: v.last.Seq + 1, Says: fmt.Sprintf("The journal ends with no. %d, but %d entries were accepted: the last ones are missing.", v.last.Seq, h.seq)})
	case h.seq < v.last.Seq:
		return v.found(Finding{Code: HeadWrong, Seq: v.last.Seq, Says: fmt.Sprintf("The head of the chain says no. %d, but the journal goes on to no. %d.", h.seq, v.last.Seq)})
	case h.hash != v.last.Hash:
		return v.found(about(v.last, HeadWrong, "is the last one, but the head of the chain has another hash than it."))
	}
	return nil
}

// correctionSubjects adds what the corrections bear on because of the entries
// they correct.
func (v *verifier) correctionSubjects(ctx context.Context) error {
	for _, c := range v.corrections {
		var noted holdfast.ID
		if err := v.s.row(ctx, `SELECT corrects FROM entry WHERE seq = $1`, []any{c.Seq}, &noted); err != nil {
			return err
		}
		if noted != corrects(c) {
			if err := v.found(about(c.Entry, SubjectWrong, "is noted as a correction of %q and corrects %s.", noted, corrects(c))); err != nil {
				return err
			}
		}
		if len(v.unreadable) > 0 {
			continue // the corrected entry may be one of those
		}
		all, err := v.s.subjectsOf(ctx, c)
		if err != nil {
			return err
		}
		for _, sub := range all {
			if seqs := v.expected[sub]; !slices.Contains(seqs, c.Seq) {
				v.expected[sub] = append(seqs, c.Seq)
				slices.Sort(v.expected[sub])
			}
		}
	}
	return nil
}

// subjects compares what each entry is listed under with what it bears on.
func (v *verifier) subjects(ctx context.Context) error {
	v.wrong = map[holdfast.Subject][]int64{}
	if by, err := v.s.meta(ctx, metaSubjects); err != nil || by != foldVersion {
		return err // rows says so
	}
	actual := map[holdfast.Subject][]int64{}
	err := v.s.each(ctx, `SELECT subject_type, subject_id, seq FROM entry_subject ORDER BY subject_type, subject_id, seq`, nil, func(scan scan) error {
		var sub holdfast.Subject
		var seq int64
		err := scan(&sub.Type, &sub.ID, &seq)
		actual[sub] = append(actual[sub], seq)
		return err
	})
	if err != nil {
		return err
	}
	for _, sub := range sorted(actual) {
		if _, ok := v.expected[sub]; !ok {
			v.expected[sub] = nil
		}
	}
	for _, sub := range sorted(v.expected) {
		if !slices.Equal(actual[sub], v.expected[sub]) {
			v.wrong[sub] = v.expected[sub]
			if err := v.compareList(sub, actual[sub]); err != nil {
				return err
			}
		}
	}
	return nil
}

func (v *verifier) compareList(sub holdfast.Subject, actual []int64) error {
	for _, seq := range v.expected[sub] {
		if _, listed := slices.BinarySearch(actual, seq); !listed {
			if err := v.found(Finding{Code: SubjectMissing, Seq: seq, Type: sub.Type, ID: sub.ID,
				Says: fmt.Sprintf("Entry no. %d bears on %s %s and is not listed there, so that it is not seen.", seq, sub.Type, sub.ID)}); err != nil {
				return err
			}
		}
	}
	if len(v.unreadable) > 0 {
		return nil // what those bear on is not known
	}
	for _, seq := range actual {
		if _, expected := slices.BinarySearch(v.expected[sub], seq); !expected {
			if err := v.found(Finding{Code: SubjectWrong, Seq: seq, Type: sub.Type, ID: sub.ID,
				Says: fmt.Sprintf("Entry no. %d is listed under %s %s and does not bear on it.", seq, sub.Type, sub.ID)}); err != nil {
				return err
			}
		}
	}
	return nil
}
