package web

import (
	"errors"
	"io"
	"net/http"

	"holdfast/internal/notices"
	"holdfast/internal/web/assets"
)

// handler answers a request, or returns an error and has written nothing.
type handler func(w http.ResponseWriter, r *http.Request) error

// Bounds of a request's body.
const (
	formBody   = 256 << 10 // a form of fields
	uploadBody = 12 << 20  // a packing list, 10 MB, and its envelope
	photoBody  = 260 << 20 // a photograph, 256 MB, and its envelope
	cardBody   = 16 << 30  // a card full of photographs, which streams to the disk
	// mostDiscarded is how much of what is too large is taken off the line and
	// thrown away, so that the person reads why; beyond it the line is cut.
	mostDiscarded = 32 << 20
)

// route is one address of the site.
type route struct {
	// pattern is ServeMux's: method, then path.
	pattern string
	handle  handler
	// body bounds what may be sent; 0 means formBody.
	body int64
	// open routes need no sign-in.
	open bool
}

// routes are the whole site.
func (s *Server) routes() []route {
	return []route{
		{pattern: "GET /{$}", handle: s.home},
		{pattern: "POST /undo", handle: s.undo},

		{pattern: "GET /lots/{id}/look", handle: s.look},
		{pattern: "POST /lots/{id}/look", handle: s.lookSave},
		{pattern: "GET /lots/{id}/look/sheet", handle: s.lookSheet},
		{pattern: "GET /lots/{id}/reckoned", handle: s.reckoned},
		{pattern: "GET /hour", handle: s.hour},
		{pattern: "GET /looking", handle: s.looking},
		{pattern: "POST /looking", handle: s.lookingSave},

		{pattern: "GET /reference", handle: s.referenceList},
		{pattern: "GET /reference/{what}/{id}", handle: s.referenceEntry},
		{pattern: "GET /reference/new", handle: s.ownNew},
		{pattern: "POST /reference/new", handle: s.ownSave},
		{pattern: "GET /reference/own/{id}", handle: s.ownEdit},
		{pattern: "POST /reference/own/{id}", handle: s.ownSave},
		{pattern: "POST /reference/own/{id}/drop", handle: s.ownDrop},
		{pattern: "POST /reference/names", handle: s.namesSave},
		{pattern: "GET /signs", handle: s.signs},
		{pattern: "GET /signs/cases", handle: s.cases},
		{pattern: "POST /signs/cases", handle: s.confirm},
		{pattern: "GET /signs/case", handle: s.caseFile},
		{pattern: "POST /signs/case.pdf", handle: s.casePDF},
		{pattern: "GET /ask", handle: s.ask},
		{pattern: "POST /ask", handle: s.askSave},

		{pattern: "GET /photos/{sha}", handle: s.photo},
		{pattern: "GET /photos/{sha}/view", handle: s.picture},
		{pattern: "POST /lots/{id}/photo", handle: s.addPhoto, body: photoBody},

		{pattern: "GET /lots/{id}/bench", handle: s.bench},
		{pattern: "POST /lots/{id}/bench/add", handle: s.benchAdd, body: cardBody},
		{pattern: "POST /lots/{id}/bench/back", handle: s.benchBack},
		{pattern: "POST /lots/{id}/bench/put", handle: s.benchPut},
		{pattern: "POST /lots/{id}/bench/save", handle: s.benchSave},
		{pattern: "GET /lots/{id}/bench/animal/{no}", handle: s.benchAnimal},
		{pattern: "POST /lots/{id}/bench/animal/{no}", handle: s.judgeSave},
		{pattern: "GET /lots/{id}/bench/photo/{sha}", handle: s.benchPhoto},
		{pattern: "GET /lots/{id}/bench/stack/{sha}", handle: s.benchStack},
		{pattern: "GET /joined/{name}", handle: s.joined},
		{pattern: "GET /lots/{id}/bench/scale", handle: s.benchScale},
		{pattern: "POST /lots/{id}/bench/scale", handle: s.scaleSave},
		{pattern: "GET /lots/{id}/bench/second", handle: s.benchSecond},
		{pattern: "GET /lots/{id}/bench/before", handle: s.benchBefore},
		{pattern: "POST /bench/reading", handle: s.benchPause},
		{pattern: "GET /bench", handle: s.benchShop},
		{pattern: "POST /bench", handle: s.benchShopSave},
		{pattern: "POST /bench/refit", handle: s.benchRefit},
		{pattern: "POST /bench/model", handle: s.benchModel},
		{pattern: "GET /bench/crops.zip", handle: s.benchCrops},

		{pattern: "GET /register", handle: s.register},
		{pattern: "GET /register/visit", handle: s.visitForm},
		{pattern: "POST /register/visit", handle: s.visitSave},
		{pattern: "GET /register.xlsx", handle: s.registerBook},
		{pattern: "GET /export.xlsx", handle: s.fullBook},

		{pattern: "GET /receive", handle: s.receive},
		{pattern: "POST /receive", handle: s.receiveSave, body: uploadBody},
		{pattern: "POST /receive/list", handle: s.packingList, body: uploadBody},
		{pattern: "GET /deliveries/{id}", handle: s.delivery},
		{pattern: "GET /deliveries/{id}/papers", handle: s.papers},
		{pattern: "POST /deliveries/{id}/papers", handle: s.papersSave},
		{pattern: "GET /lots/{id}/sales/{entry}/papers", handle: s.papers},
		{pattern: "POST /lots/{id}/sales/{entry}/papers", handle: s.papersSave},

		{pattern: "GET /round", handle: s.round},
		{pattern: "POST /round/tick", handle: s.roundTick},
		{pattern: "POST /round/skip", handle: s.roundSkip},
		{pattern: "POST /round/none-dead", handle: s.roundNoneDead},
		{pattern: "GET /who", handle: s.whoForm},
		{pattern: "POST /who", handle: s.whoSave},

		{pattern: "GET /lots", handle: s.lots},
		{pattern: "GET /lots/{id}", handle: s.lotPage},
		{pattern: "GET /lots/{id}/record", handle: s.lotRecord},
		{pattern: "GET /lots/{id}/how", handle: s.lotHow},
		{pattern: "GET /lots/{id}/treat", handle: s.treatForm},
		{pattern: "POST /lots/{id}/treat", handle: s.treatSave},
		{pattern: "GET /lots/{id}/mix", handle: s.mixLot},
		{pattern: "POST /lots/{id}/mix", handle: s.mixSave},
		{pattern: "GET /lots/{id}/dip", handle: s.dipLot},
		{pattern: "POST /lots/{id}/dip", handle: s.dipSave},
		{pattern: "GET /lots/{id}/treatments/{entry}", handle: s.treatment},
		{pattern: "POST /lots/{id}/treatments/{entry}/look", handle: s.treatmentLook},
		{pattern: "POST /lots/{id}/treatments/{entry}/end", handle: s.treatmentEnd},
		{pattern: "POST /lots/{id}/treatments/{entry}/again", handle: s.treatmentAgain},
		{pattern: "GET /lots/{id}/course", handle: s.course},
		{pattern: "POST /lots/{id}/course", handle: s.courseAccept},
		{pattern: "POST /lots/{id}/course/stop", handle: s.courseStop},
		{pattern: "POST /lots/{id}/course/cancel", handle: s.courseCancel},
		{pattern: "POST /lots/{id}/course/money", handle: s.courseMoney},
		{pattern: "GET /lots/{id}/sell", handle: s.sellForm},
		{pattern: "POST /lots/{id}/sell", handle: s.sellSave},
		{pattern: "POST /lots/{id}/count", handle: s.lotDo("count", lotCount)},
		{pattern: "POST /lots/{id}/dead", handle: s.lotDo("dead", lotDead)},
		{pattern: "POST /lots/{id}/gone", handle: s.lotDo("gone", lotGone)},
		{pattern: "POST /lots/{id}/births", handle: s.lotDo("births", lotBirths)},
		{pattern: "POST /lots/{id}/removal", handle: s.lotDo("removal", lotRemoval)},
		{pattern: "POST /lots/{id}/move", handle: s.lotDo("move", lotMove)},
		{pattern: "POST /lots/{id}/place", handle: s.lotDo("place", lotPlace)},
		{pattern: "POST /lots/{id}/split", handle: s.lotDo("split", lotSplit)},
		{pattern: "POST /lots/{id}/merge", handle: s.lotDo("merge", lotMerge)},
		{pattern: "POST /lots/{id}/note", handle: s.lotDo("note", lotNote)},
		{pattern: "POST /lots/{id}/release", handle: s.lotDo("release", lotRelease)},
		{pattern: "POST /lots/{id}/exit", handle: s.lotDo("exit", lotExit)},
		{pattern: "POST /lots/{id}/hold", handle: s.lotDo("hold", lotHold)},
		{pattern: "POST /lots/{id}/lift", handle: s.lotDo("lift", lotLift)},

		{pattern: "GET /mix", handle: s.mixFree},
		{pattern: "GET /dip", handle: s.dipFree},
		{pattern: "GET /ingredients", handle: s.ingredients},
		{pattern: "GET /water", handle: s.waterPage},
		{pattern: "GET /acclimate", handle: s.acclimate},
		{pattern: "GET /tanks/{id}/mix", handle: s.mixTank},

		{pattern: "GET /beliefs/{id}", handle: s.beliefs},
		{pattern: "POST /beliefs/{id}", handle: s.beliefsSave},
		{pattern: "GET /beliefs/{id}/file", handle: s.beliefsFile},
		{pattern: "POST /beliefs/{id}/file", handle: s.beliefsUpload},
		{pattern: "GET /settings", handle: s.settings},
		{pattern: "GET /notices", handle: s.notices},
		{pattern: "POST /settings", handle: s.settingsSave},
		{pattern: "GET /tanks", handle: s.tanks},
		{pattern: "GET /tanks/new", handle: s.tankNew},
		{pattern: "POST /tanks/new", handle: s.tankAdd},
		{pattern: "GET /tanks/readings", handle: s.waters},
		{pattern: "POST /tanks/readings", handle: s.watersSave},
		{pattern: "GET /tanks/{id}", handle: s.tank},
		{pattern: "POST /tanks/{id}", handle: s.tankWrite},
		{pattern: "GET /tanks/{id}/edit", handle: s.tankEdit},
		{pattern: "POST /tanks/{id}/edit", handle: s.tankSave},

		{pattern: "GET /sign-in", handle: s.signInForm, open: true},
		{pattern: "POST /sign-in", handle: s.signIn, open: true},
		{pattern: "POST /sign-out", handle: s.signOut, open: true},
		{pattern: "GET /healthz", handle: s.healthz, open: true},
		{pattern: "GET " + assets.Prefix, handle: s.asset, open: true},
		{pattern: "/", handle: s.nowhere},
	}
}

// Patterns are the addresses of the site, method and path, as ServeMux writes
// them: whoever checks the whole site can see that none was left out.
func (s *Server) Patterns() []string {
	var all []string
	for _, rt := range s.routes() {
		all = append(all, rt.pattern)
	}
	return all
}

func (s *Server) mux() *http.ServeMux {
	mux := http.NewServeMux()
	for _, rt := range s.routes() {
		mux.HandleFunc(rt.pattern, s.route(rt))
	}
	return mux
}

// route bounds the body, asks for sign-in, runs the handler and turns its
// error into a page.
func (s *Server) route(rt route) http.HandlerFunc {
	limit := rt.body
	if limit == 0 {
		limit = formBody
	}
	return func(w http.ResponseWriter, r *http.Request) {
		body := r.Body
		r.Body = http.MaxBytesReader(w, body, limit)
		if !rt.open && !s.signedIn(r) {
			s.askToSignIn(w, r)
			return
		}
		if err := rt.handle(w, r); err != nil {
			var tooLarge *http.MaxBytesError
			if errors.As(err, &tooLarge) {
				// A browser reads no answer before it has sent everything.
				_, _ = io.CopyN(io.Discard, body, mostDiscarded)
			}
			s.problem(w, r, err)
		}
	}
}

func (s *Server) home(w http.ResponseWriter, r *http.Request) error {
	http.Redirect(w, r, "/round", http.StatusSeeOther)
	return nil
}

func (s *Server) asset(w http.ResponseWriter, r *http.Request) error {
	if !s.assets.Serve(w, r) {
		return errNoPage
	}
	return nil
}

// notices says what is built into the program, and on which terms.
func (s *Server) notices(w http.ResponseWriter, _ *http.Request) error {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	_, _ = io.WriteString(w, notices.Text)
	return nil
}

// nowhere answers every other address.
func (s *Server) nowhere(http.ResponseWriter, *http.Request) error { return errNoPage }

// healthz tells a supervisor that the desk answers and can reach its data.
func (s *Server) healthz(w http.ResponseWriter, r *http.Request) error {
	status, say := http.StatusOK, "ok\n"
	if s.Ready != nil {
		if err := s.Ready(r.Context()); err != nil {
			s.Log.Error("not ready", "error", err)
			status, say = http.StatusServiceUnavailable, "not ready\n"
		}
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write([]byte(say))
	return nil
}
