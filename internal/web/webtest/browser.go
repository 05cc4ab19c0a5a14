package webtest

import (
	"context"
	_ "embed"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

//go:embed testdata/axe-4.14.1.min.js
var axe string

// Size of a screen in CSS pixels.
type Size struct {
	Name          string
	Width, Height int64
}

// The two sizes every page is looked at, and the narrowest still in use.
var (
	Phone  = Size{"phone", 390, 844}
	Laptop = Size{"desk", 1280, 900}
	Small  = Size{"small", 320, 640}
)

// Scheme is the wish for light or dark.
type Scheme string

// The schemes.
const (
	Light Scheme = "light"
	Dark  Scheme = "dark"
)

// patience bounds every single step; a hung page must fail, not hang the run.
const patience = 60 * time.Second

// Browser is one tab of a fresh Chromium. Its methods fail the test.
type Browser struct {
	t   testing.TB
	ctx context.Context

	heard *heard
}

// heard is what the browser said by itself.
type heard struct {
	mu       sync.Mutex
	complain []string
	asked    int
}

// New starts Chromium for the test and stops it at its end.
func New(t testing.TB) *Browser {
	t.Helper()
	if testing.Short() {
		t.Skip("browser test")
	}
	opts := []chromedp.ExecAllocatorOption{
		chromedp.ExecPath(chromium(t)),
		chromedp.Headless, chromedp.NoFirstRun, chromedp.NoDefaultBrowserCheck, chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true),
		chromedp.Flag("disable-sync", true),
		chromedp.Flag("disable-dev-shm-usage", true),
		chromedp.Flag("disable-extensions", true),
		chromedp.Flag("disable-renderer-backgrounding", true),
		chromedp.Flag("hide-scrollbars", true),
		chromedp.Flag("force-color-profile", "srgb"),
		chromedp.Flag("font-render-hinting", "none"),
		chromedp.UserDataDir(t.TempDir()),
	}
	ctx, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, closeTab := chromedp.NewContext(ctx)
	t.Cleanup(func() { closeTab(); stop() })
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("chromium did not start: %v", err)
	}
	b := &Browser{t, ctx, new(heard)}
	messages := chromedp.Console(ctx)
	go func() {
		for m, err := range messages {
			if err != nil {
				return
			}
			if s := m.String(); m.IsException() || strings.Contains(strings.ToLower(s), "error") || strings.Contains(s, "Refused") || strings.Contains(s, "violates") {
				b.heard.mu.Lock()
				b.heard.complain = append(b.heard.complain, s)
				b.heard.mu.Unlock()
			}
		}
	}()
	dialogs := chromedp.Events(ctx, page.JavascriptDialogOpening)
	go func() {
		for _, err := range dialogs {
			if err != nil {
				return
			}
			b.heard.mu.Lock()
			b.heard.asked++
			b.heard.mu.Unlock()
			// The tab answers nothing else until the question is out of the way.
			_, _ = chromedp.Call(ctx, page.HandleJavaScriptDialog, page.HandleJavaScriptDialogParams{Accept: true})
		}
	}()
	b.Look(Laptop, Light)
	return b
}

// For is the same tab for a part of the test, which then fails by itself.
func (b *Browser) For(t testing.TB) *Browser { return &Browser{t: t, ctx: b.ctx, heard: b.heard} }

// Asked is how often the browser has asked something since the last call,
// such as whether to leave what was typed. Every question is answered yes.
func (b *Browser) Asked() int {
	b.heard.mu.Lock()
	defer b.heard.mu.Unlock()
	n := b.heard.asked
	b.heard.asked = 0
	return n
}

func chromium(t testing.TB) string {
	t.Helper()
	names := []string{os.Getenv("HOLDFAST_CHROMIUM"), "chromium", "chromium-browser", "google-chrome", "chrome"}
	for _, name := range names {
		if name == "" {
			continue
		}
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Fatal("no Chromium found: install Debian's package chromium, name one in HOLDFAST_CHROMIUM, or test with -short")
	return ""
}

func (b *Browser) do(what string, steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.t.Fatalf("%s: %v", what, err)
	}
}

// Eval evaluates an expression in the page, waits if it is a promise, and
// returns its value.
func Eval[T any](b *Browser, expression string) T {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("evaluate %.80s: %v", expression, err)
	}
	return v
}

// Look sets the size of the screen and the wish for light or dark.
func (b *Browser) Look(size Size, scheme Scheme) {
	b.t.Helper()
	b.do("size", chromedp.EmulateViewport(size.Width, size.Height))
	b.media(map[string]string{"prefers-color-scheme": string(scheme), "prefers-reduced-motion": "reduce"})
}

func (b *Browser) media(wish map[string]string) {
	b.t.Helper()
	features := make([]*emulation.MediaFeature, 0, len(wish))
	for name, value := range wish {
		features = append(features, &emulation.MediaFeature{Name: name, Value: value})
	}
	b.do("media", chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: features})
		return err
	}))
}

// Go opens an address and waits until it and its fonts have loaded.
func (b *Browser) Go(url string) {
	b.t.Helper()
	b.do("open "+url, chromedp.Navigate(url))
	Eval[bool](b, `document.fonts.ready.then(() => true)`)
}

// Click presses the one element that the CSS selector finds, scrolled into view.
func (b *Browser) Click(selector string) {
	b.t.Helper()
	b.do("click "+selector, chromedp.Click(chromedp.CSS(selector)))
}

// Send presses the one element that the CSS selector finds and waits for the
// page that follows.
func (b *Browser) Send(selector string) {
	b.t.Helper()
	b.Click(selector)
	b.Settle()
}

// Press clicks the button or link with exactly these words (spaces folded) and
// waits for the page that follows.
func (b *Browser) Press(words string) {
	b.t.Helper()
	mark := Eval[bool](b, fmt.Sprintf(`(() => {
		const said = (e) => (e.getAttribute("aria-label") || e.innerText || "").replace(/\s+/g, " ").trim();
		const all = [...document.querySelectorAll("button,a,summary,label")].filter((e) => said(e) === %q);
		if (all.length === 0) return false;
		all[0].setAttribute("data-press", "1");
		return true;
	})()`, words))
	if !mark {
		b.t.Fatalf("nothing on the page says %q", words)
	}
	b.Click(`[data-press="1"]`)
	b.Settle()
	Eval[bool](b, `(() => { for (const e of document.querySelectorAll("[data-press]")) e.removeAttribute("data-press"); return true })()`)
}

// Settle waits until no form is being sent and the document is complete.
func (b *Browser) Settle() {
	b.t.Helper()
	time.Sleep(50 * time.Millisecond) // a navigation begins after the click returns
	for range 200 {
		ctx, cancel := context.WithTimeout(b.ctx, patience)
		done, err := chromedp.Run(ctx, chromedp.Evaluate[bool](`document.readyState === "complete" && !document.querySelector("[aria-busy=true]")`))
		cancel()
		if err == nil && done {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	b.t.Fatal("the page did not settle")
}

// Type clears a field and types into it.
func (b *Browser) Type(selector, text string) {
	b.t.Helper()
	if !Eval[bool](b, fmt.Sprintf(`(() => { const e = document.querySelector(%q); if (!e) return false; e.value = ""; return true })()`, selector)) {
		b.t.Fatalf("no field %s", selector)
	}
	b.do("type into "+selector, chromedp.SendKeys(chromedp.CSS(selector), text))
}

// Key presses one key where the focus is.
func (b *Browser) Key(key string) {
	b.t.Helper()
	b.do("key "+key, chromedp.KeyEvent(key))
	b.Settle()
}

// Upload chooses files in a file field.
func (b *Browser) Upload(selector string, paths ...string) {
	b.t.Helper()
	b.do("upload", chromedp.SetUploadFiles(chromedp.CSS(selector), paths))
}

// Text is what a selector's first element says.
func (b *Browser) Text(selector string) string {
	b.t.Helper()
	return Eval[string](b, fmt.Sprintf(`(document.querySelector(%q) || {innerText: ""}).innerText`, selector))
}

// Path is the address shown, without its host.
func (b *Browser) Path() string {
	b.t.Helper()
	return Eval[string](b, `location.pathname + location.search`)
}

// Shot writes what the screen shows to dir/name-size-scheme.png, the whole
// page if whole is set.
func (b *Browser) Shot(dir, name string, whole bool) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	take := func(ctx context.Context, t *chromedp.Target) ([]byte, error) {
		r, err := cdp.Call(ctx, t, page.CaptureScreenshot, page.CaptureScreenshotParams{CaptureBeyondViewport: &whole, FromSurface: ptr(true), Clip: clip(ctx, t, whole)})
		if err != nil {
			return nil, err
		}
		return r.Data, nil
	}
	png, err := chromedp.Run(ctx, take)
	if err != nil {
		b.t.Fatalf("screenshot: %v", err)
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644); err != nil {
		b.t.Fatal(err)
	}
}

func ptr[T any](v T) *T { return &v }

// clip is the whole page, or nil for the screen.
func clip(ctx context.Context, t *chromedp.Target, whole bool) *page.Viewport {
	if !whole {
		return nil
	}
	m, err := cdp.Call(ctx, t, page.GetLayoutMetrics, cdp.Empty{})
	if err != nil {
		return nil
	}
	return &page.Viewport{Width: m.CSSContentSize.Width, Height: m.CSSContentSize.Height, Scale: 1}
}

// Complaints are the console's errors since the last call: refused resources,
// exceptions, failed loads.
func (b *Browser) Complaints() []string {
	b.heard.mu.Lock()
	defer b.heard.mu.Unlock()
	all := b.heard.complain
	b.heard.complain = nil
	return all
}
