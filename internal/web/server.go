package web

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"sync"
	"time"

	"github.com/alexedwards/scs/v2"

	"holdfast/desk"
	"holdfast/internal/door"
	"holdfast/internal/web/assets"
	"holdfast/internal/web/work"
)

// Config is what a server needs.
type Config struct {
	Desk *desk.Desk
	Log  *slog.Logger
	// Door keeps the password. Nil means that nobody is asked for one, which
	// Serve allows on loopback only.
	Door *door.Door
	// Photos keeps photographs; without it none can be added.
	Photos Photographs
	// Pictures makes pictures of them; without it there is no bench.
	Pictures Pictures
	// Wake, if not nil, tells whoever reads photographs that some wait.
	Wake func()
	// Hosts are host names, beside those of loopback, by which the desk may be
	// called. Empty with a Door means any: the password stands in the way then.
	Hosts []string
	// Secure says that people reach the desk by https, through a proxy; the
	// cookie is then sent by https only.
	Secure bool
	// Proxies are the addresses of proxies that are taken at their word about who
	// calls, in X-Forwarded-For; without any, all who come through one are counted
	// together when passwords are tried.
	Proxies []netip.Prefix
	// Runs is how many simulated lots stand behind each course of treatment, at
	// least 100; 0 means 1,000. A first answer takes a fifth of them, the course
	// that is shown in full twice as many.
	Runs int
	// Ready reports whether the desk can do its work; nil means always.
	Ready func(context.Context) error
}

// Server answers the pages.
type Server struct {
	Config
	assets   *assets.Set
	sessions *scs.SessionManager
	handler  http.Handler
	lists    lists
	// ticking makes one thing of seeing that a job of the round waits and
	// writing that it is done; without it two tabs could both see it waiting.
	ticking sync.Mutex
	books   ownBook
	// searches work out what takes longer than a page may; plans are short and have
	// one of their own, so that none waits for a search.
	searches, plans *work.Bench
	standings       standings
	turns           turns
}

// New returns a server; it fails only if the program was built wrongly.
func New(c Config) (*Server, error) {
	set, err := assets.Load()
	if err != nil {
		return nil, fmt.Errorf("load assets: %w", err)
	}
	if c.Runs == 0 {
		c.Runs = 1000
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	s := &Server{Config: c, assets: set, sessions: sessions(c.Secure), searches: work.New(2, 400), plans: work.New(2, 200)}
	if life := c.Desk.Life; life != nil {
		life.Turn = s.turns.yield
	}
	s.handler = s.chain(s.mux())
	return s, nil
}

// Stop ends what is being worked out beside the pages, for good. Serve calls it.
func (s *Server) Stop() {
	s.searches.Stop()
	s.plans.Stop()
}

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// Times that bound a slow or silent client. Writing allows for a photograph
// over a poor line, reading for sending one.
const (
	headerTime = 10 * time.Second
	readTime   = 2 * time.Minute
	writeTime  = 2 * time.Minute
	idleTime   = 2 * time.Minute
	graceTime  = 8 * time.Second
)

// Listen opens an address. One that can be reached from another machine is
// refused unless a password has been set.
func (s *Server) Listen(addr string) (net.Listener, error) {
	ln, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, err
	}
	if s.Door == nil && !loopback(ln.Addr()) {
		_ = ln.Close()
		return nil, ErrOpenDoor
	}
	return ln, nil
}

// ErrOpenDoor refuses an address in reach of other machines without a password.
var ErrOpenDoor = errors.New("this address can be reached from other machines, and no password is set: set one with holdfast password, or listen on 127.0.0.1")

func loopback(a net.Addr) bool {
	t, ok := a.(*net.TCPAddr)
	return ok && t.IP.IsLoopback()
}

// Serve answers on the listener until ctx ends, then lets running requests
// finish for a few seconds. It returns nil after such an end.
func (s *Server) Serve(ctx context.Context, ln net.Listener) error {
	return s.ServeHandler(ctx, ln, s)
}

// ServeHandler is Serve with something before the pages, such as a word that
// they are not ready yet.
func (s *Server) ServeHandler(ctx context.Context, ln net.Listener, h http.Handler) error {
	server := &http.Server{
		Handler:           h,
		ReadHeaderTimeout: headerTime, ReadTimeout: readTime, WriteTimeout: writeTime, IdleTimeout: idleTime,
		MaxHeaderBytes: 32 << 10,
		ErrorLog:       slog.NewLogLogger(s.Log.Handler(), slog.LevelDebug),
	}
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(ln) }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	s.Stop()
	grace, cancel := context.WithTimeout(context.WithoutCancel(ctx), graceTime)
	defer cancel()
	if err := server.Shutdown(grace); err != nil {
		_ = server.Close()
	}
	if err := <-failed; !errors.Is(err, http.ErrServerClosed) {
		return err
	}
	return nil
}
