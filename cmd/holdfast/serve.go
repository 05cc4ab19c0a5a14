package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"runtime/debug"
	"sync/atomic"
	"syscall"
	"time"

	"holdfast"
	"holdfast/internal/cli"
	"holdfast/internal/darkroom"
	"holdfast/internal/demo"
	"holdfast/internal/door"
	"holdfast/internal/media"
	"holdfast/internal/turbojpeg"
	"holdfast/internal/web"
	"holdfast/photo"
)

// readAhead bounds how long a start reads for those who come first.
const readAhead = 5 * time.Second

// Listen says where pages are served.
type Listen struct {
	Listen string   `default:"127.0.0.1:8420" placeholder:"ADDR" help:"Address to listen on. Other machines reach it only when a password is set."`
	Host   []string `placeholder:"NAME" help:"Name by which the desk may be called, beside localhost; may be repeated."`
	HTTPS  bool     `name:"https" help:"People reach the desk by https, through a proxy."`
	Proxy  []string `placeholder:"ADDR" help:"Address or network of that proxy, such as 127.0.0.1: it is then believed about who calls (X-Forwarded-For), and wrong passwords are counted for each caller, not for all of them together; may be repeated."`
	Quiet  bool     `help:"Write no request log."`
}

// Serve is the subcommand of that name.
type Serve struct {
	Data
	Listen `embed:""`
}

// Run serves the desk of a data folder until the process is asked to stop.
func (c Serve) Run(env *cli.Env) error {
	f, err := openFolder(env.Context, c.Data.Data, c.Site)
	if err != nil {
		return err
	}
	defer f.store.Close()
	if err := refuseHalfMade(c.Data.Data); err != nil {
		return err
	}
	return c.serve(env, f, c.Data.Data, nil)
}

// Demo is the subcommand of that name.
type Demo struct {
	Data   string `placeholder:"DIR" help:"Folder to keep the invented shop in; a new folder for temporary files if none is named."`
	Listen `embed:""`
}

// Run fills an empty folder with the invented shop and serves it. The address
// answers at once, with how far the shop is while it is being made. A folder in
// which that was stopped is refused.
func (c Demo) Run(env *cli.Env) error {
	dir := c.Data
	if dir == "" {
		var err error
		if dir, err = os.MkdirTemp("", "holdfast-demo-"); err != nil {
			return err
		}
	}
	f, err := openFolder(env.Context, dir, "demo")
	if err != nil {
		return err
	}
	defer f.store.Close()
	head, _, err := f.store.Head(env.Context)
	if err != nil {
		return err
	}
	if head > 0 {
		if err := refuseHalfMade(dir); err != nil {
			return err
		}
		return c.serve(env, f, dir, nil)
	}
	return c.serve(env, f, dir, func(ctx context.Context, progress func(string)) error {
		// A year is lived in seconds: less collecting, more living.
		defer debug.SetGCPercent(debug.SetGCPercent(800))
		if err := markMaking(dir); err != nil {
			return err
		}
		now := time.Now()
		// What is half made is refused, so its days need not be on the disk one by one.
		if err := f.store.Fill(ctx, func(ctx context.Context) error {
			return demo.Seed(ctx, f.store, f.desk.Evidence, now, func(day, of int) {
				progress(fmt.Sprintf("Making the invented shop: day %d of %d", day, of))
			})
		}); err != nil {
			return err
		}
		photos := media.Open(dir)
		if _, err := demo.Photograph(ctx, f.desk, now, func(r io.Reader) (holdfast.PhotoAdded, error) {
			k, err := photos.Save(r)
			return holdfast.PhotoAdded{SHA256: k.SHA256, Size: k.Size, Media: k.Media}, err
		}); err != nil {
			return err
		}
		return unmarkMaking(dir)
	})
}

// serve answers pages. prepare, if not nil, runs first while the address
// already answers.
func (l Listen) serve(env *cli.Env, f *folder, dir string, prepare func(context.Context, func(string)) error) error {
	level := slog.LevelInfo
	if l.Quiet {
		level = slog.LevelWarn
	}
	d, err := door.Open(dir)
	if errors.Is(err, door.ErrNoPassword) {
		d = nil // loopback only; Listen refuses anything else
	} else if err != nil {
		return err
	}
	log := slog.New(slog.NewTextHandler(env.Err, &slog.HandlerOptions{Level: level}))
	photos := media.Open(dir)
	room := darkroom.Open(dir, photos, nativeJPEG())
	worker := darkroom.NewWorker(room, f.desk, log)
	proxies, err := l.proxies()
	if err != nil {
		return err
	}
	s, err := web.New(web.Config{Desk: f.desk, Door: d, Photos: photos, Pictures: room, Wake: worker.Wake, Hosts: l.Host, Secure: l.HTTPS, Proxies: proxies, Log: log, Ready: f.ready})
	if err != nil {
		return err
	}
	ln, err := s.Listen(l.Listen)
	if err != nil {
		return listenError(l.Listen, err)
	}
	fmt.Fprintf(env.Out, "Holdfast is at http://%s/\nData are in %s. Stop with Ctrl-C.\n", ln.Addr(), dir)
	figures := func(ctx context.Context) {
		ahead, cancel := context.WithTimeout(ctx, readAhead)
		if err := s.ReadAhead(ahead); err != nil && ctx.Err() == nil {
			log.Info("not all was read ahead", "err", err)
		}
		cancel()
		select { // the first pages come first
		case <-time.After(2 * time.Second):
			f.desk.Life.Work(ctx, func(lot string, err error) { log.Warn("figures could not be worked out", "lot", lot, "err", err) })
		case <-ctx.Done():
		}
	}
	read := func(ctx context.Context) func() {
		reading, figuring := background(ctx, worker.Run), background(ctx, figures)
		return func() { reading(); figuring() }
	}
	if prepare == nil {
		defer read(env.Context)()
		return s.Serve(env.Context, ln)
	}
	return serveWhile(env, s, ln, prepare, read)
}

// background runs f until the returned function is called, which waits for its
// end: nothing may use the store after it is closed.
func background(ctx context.Context, f func(context.Context)) (stop func()) {
	ctx, cancel := context.WithCancel(ctx)
	done := make(chan struct{})
	go func() {
		defer close(done)
		f(ctx)
	}()
	return func() {
		cancel()
		<-done
	}
}

// nativeJPEG is the system's own JPEG decoder, or nil where there is none: the
// built-in one then takes its place.
func nativeJPEG() photo.JPEGScaler {
	lib, err := turbojpeg.Load()
	if err != nil {
		return nil
	}
	return lib
}

// proxies are the named proxies as networks; an address is a network of one.
func (l Listen) proxies() ([]netip.Prefix, error) {
	var all []netip.Prefix
	for _, text := range l.Proxy {
		p, err := netip.ParsePrefix(text)
		if a, alone := netip.ParseAddr(text); alone == nil {
			p, err = netip.PrefixFrom(a, a.BitLen()), nil
		}
		if err != nil {
			return nil, &holdfast.Error{Kind: holdfast.Invalid, Field: "proxy", Message: fmt.Sprintf("%q is no address and no network", text), Hint: "Write it as 127.0.0.1 or 10.0.0.0/8."}
		}
		all = append(all, p)
	}
	return all, nil
}

func listenError(addr string, err error) error {
	if errors.Is(err, syscall.EADDRINUSE) {
		return &holdfast.Error{Kind: holdfast.Busy, Field: "listen", Message: fmt.Sprintf("something else listens on %s", addr), Hint: "Choose another address with --listen, such as 127.0.0.1:8421."}
	}
	if errors.Is(err, web.ErrOpenDoor) {
		return &holdfast.Error{Kind: holdfast.Refused, Field: "listen", Message: err.Error(), Hint: "Run holdfast password --data DIR first."}
	}
	return &holdfast.Error{Kind: holdfast.Invalid, Field: "listen", Message: err.Error(), Hint: "Write it as 127.0.0.1:8420."}
}

// serveWhile answers "not yet" until prepare is done, then the pages; after
// starts what runs beside them.
func serveWhile(env *cli.Env, s *web.Server, ln net.Listener, prepare func(context.Context, func(string)) error, after func(context.Context) func()) error {
	ctx, stop := context.WithCancel(env.Context)
	defer stop()
	var says atomic.Value
	says.Store("Starting")
	ready := make(chan struct{})
	failed := make(chan error, 1)
	ended := make(chan struct{})
	defer func() {
		stop()
		<-ended
	}()
	go func() {
		defer close(ended)
		err := prepare(ctx, func(text string) { says.Store(text) })
		if err != nil && !errors.Is(err, context.Canceled) {
			failed <- err
			stop()
			return
		}
		close(ready)
		fmt.Fprintln(env.Out, "The shop is ready.")
		stopAfter := after(ctx)
		<-ctx.Done()
		stopAfter()
	}()
	err := s.ServeHandler(ctx, ln, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		select {
		case <-ready:
			s.ServeHTTP(w, r)
		default:
			w.Header().Set("Retry-After", "1")
			w.Header().Set("Refresh", "1")
			http.Error(w, says.Load().(string)+". This page opens by itself.", http.StatusServiceUnavailable)
		}
	}))
	select {
	case e := <-failed:
		return e
	default:
		return err
	}
}
