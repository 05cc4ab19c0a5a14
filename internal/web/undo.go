package web

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// recordedTogether is recorded for several entries that were written in one go:
// the strip then takes all of them back.
func (s *Server) recordedTogether(w http.ResponseWriter, r *http.Request, to, place string, first holdfast.ID) error {
	u, err := url.Parse(local(to))
	if err != nil {
		return err
	}
	q := u.Query()
	q.Set("all", "1")
	u.RawQuery = q.Encode()
	return s.recorded(w, r, u.String(), place, first)
}

// recorded leads back to a page of this desk after an entry was written; that
// page then says what was recorded and offers to take it back. place is the id
// of an element to return to, or empty.
func (s *Server) recorded(w http.ResponseWriter, r *http.Request, to, place string, id holdfast.ID) error {
	u, err := url.Parse(local(to))
	if err != nil {
		return err
	}
	q := u.Query()
	q.Set("did", string(id))
	u.RawQuery, u.Fragment = q.Encode(), place
	if who(r) == "" && s.askWho(w, r) {
		u.RawQuery += "&ask=1"
	}
	http.Redirect(w, r, u.String(), http.StatusSeeOther)
	return nil
}

// strips says what the entry in the address, if any, recorded.
func (s *Server) strips(r *http.Request) ([]view.Strip, error) {
	id := holdfast.ID(r.URL.Query().Get("did"))
	if !id.Valid() {
		return nil, nil
	}
	ev, err := s.Desk.Store.Entry(r.Context(), id)
	var known *holdfast.Error
	if errors.As(err, &known) && known.Kind == holdfast.NotFound {
		return nil, nil // an address kept from another desk
	}
	if err != nil {
		return nil, err
	}
	fresh, err := s.Desk.NewID()
	if err != nil {
		return nil, err
	}
	strip := view.UndoStrip(s.named(r.Context(), ev, told(ev)), string(id), string(fresh), withoutDid(r.URL))
	if ev.Kind == holdfast.KindConsignmentReceived { // its own page is gone with it
		strip.Do.Hidden[2].Value = "/receive"
	}
	if ev.Kind == holdfast.KindCorrection {
		strip.Bold, strip.Do.Label = "Taken back.", "Put it back"
		strip.Rest = ""
	}
	if r.URL.Query().Get("all") != "" {
		together, err := s.Desk.Together(r.Context(), id)
		if err != nil {
			return nil, err
		}
		strip.Do.Hidden = append(strip.Do.Hidden, view.Pair{Name: "all", Value: "1"})
		if n := len(together); n > 1 && ev.Kind == holdfast.KindDeath {
			strip.Rest = "Looked for dead in " + words.Plural(n, "tank", "tanks") + ": none."
		} else if n > 1 && ev.Kind == holdfast.KindWaterMeasured {
			strip.Rest = "The water of " + words.Plural(n, "tank", "tanks") + " measured."
		}
	}
	strips := []view.Strip{strip}
	doubts, err := s.doubts(r.Context(), ev)
	if err != nil {
		return nil, err
	}
	strips = append(strips, doubts...)
	if r.URL.Query().Get("ask") != "" && who(r) == "" {
		strips = append(strips, view.Strip{Mark: view.Half, Bold: "Nobody’s name stands on this.", Rest: "Say once who uses this browser, and its entries carry the name.",
			Link: &view.Pair{Name: "Say who", Value: "/who?back=" + url.QueryEscape(withoutDid(r.URL))}})
	}
	return strips, nil
}

// doubts says what of the lot cannot be true together since the entry, so that
// whoever entered it sees it at once: nothing stops them from going on.
func (s *Server) doubts(ctx context.Context, ev holdfast.Event) ([]view.Strip, error) {
	if ev.Lot == "" || ev.Kind == holdfast.KindCorrection {
		return nil, nil
	}
	l, err := s.Desk.Lot(ctx, ev.Lot)
	if err != nil {
		return nil, err
	}
	var out []view.Strip
	for _, c := range l.Contradictions {
		if c.Entry == ev.ID && c.Code != holdfast.CodeTickedTwice { // the round shows both ticks
			out = append(out, view.Strip{Mark: view.Half, Bold: "That does not fit.", Rest: c.Says,
				Link: &view.Pair{Name: "See the lot", Value: lotURL(l.ID)}})
		}
	}
	return out, nil
}

// named puts the buyer's name, where it is known, in the place of the pseudonym
// that the entry of a sale has.
func (s *Server) named(ctx context.Context, ev holdfast.Event, say string) string {
	sale, ok := ev.Payload.(*holdfast.Sale)
	if !ok {
		return say
	}
	who, err := s.Desk.Store.Buyer(ctx, sale.Buyer)
	if err != nil {
		return say // erased: the pseudonym is all there is
	}
	return strings.Replace(say, sale.Buyer, who.Name, 1)
}

// told is the sentence with the tank or lot it is about.
func told(ev holdfast.Event) string {
	switch say := tell(ev); {
	case ev.Tank != "":
		return "Tank " + ev.Tank + ": " + say
	case ev.Lot != "":
		return "Lot " + ev.Lot + ": " + say
	default:
		return say
	}
}

func withoutDid(u *url.URL) string {
	q := u.Query()
	for _, name := range []string{"did", "all", "ask", "added", "first", "last"} {
		q.Del(name)
	}
	return strings.TrimSuffix(u.Path+"?"+q.Encode(), "?")
}

// undo takes one entry back by a correction.
func (s *Server) undo(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	entry := holdfast.ID(r.PostForm.Get("entry"))
	if !entry.Valid() {
		return &holdfast.Error{Kind: holdfast.Invalid, Message: "This does not say which entry to take back.", Hint: "Use the Undo beside the entry in the journal of its lot."}
	}
	by, err := s.actor(r)
	if err != nil {
		return err
	}
	if r.PostForm.Get("all") != "" {
		id, err := s.Desk.UndoTogether(r.Context(), by, entry, r.PostForm.Get("reason"))
		if err != nil {
			return err
		}
		return s.recordedTogether(w, r, r.PostForm.Get("back"), "", id)
	}
	id, err := s.Desk.Undo(r.Context(), by, entry, r.PostForm.Get("reason"))
	if err != nil {
		return err
	}
	return s.recorded(w, r, r.PostForm.Get("back"), "", id)
}

// actor reads a form and says who sends it, with the id the form carried, so
// that a form sent twice writes one entry.
func (s *Server) actor(r *http.Request) (desk.Actor, error) {
	if err := r.ParseForm(); err != nil {
		return desk.Actor{}, badForm(err)
	}
	a := desk.Actor{Who: whose(r)}
	if id := holdfast.ID(r.PostForm.Get("id")); id != "" {
		if !id.Valid() {
			return a, &holdfast.Error{Kind: holdfast.Invalid, Message: "This form has lost its number.", Hint: "Open the page again and enter it anew."}
		}
		a.ID = id
	}
	return a, nil
}

// author is the actor of a form whose entry is spoken of afterwards: one that
// carried no id gets one here.
func (s *Server) author(r *http.Request) (desk.Actor, error) {
	a, err := s.actor(r)
	if err == nil && a.ID == "" {
		a.ID, err = s.Desk.NewID()
	}
	return a, err
}

// formID is the entry's id that a form carries: a fresh one, or the one it came
// with when it comes back with faults, so that it still writes one entry.
func (s *Server) formID(f *form.Form) (holdfast.ID, error) {
	if id := holdfast.ID(f.Typed("id")); id.Valid() {
		return id, nil
	}
	return s.Desk.NewID()
}

// badForm is a form that could not be read: too large, or not a form.
func badForm(err error) error {
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		return err
	}
	return &holdfast.Error{Kind: holdfast.Invalid, Message: "What was sent is not a form this page knows.", Hint: "Open the page again and send it from there."}
}
