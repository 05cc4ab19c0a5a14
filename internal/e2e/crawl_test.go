package e2e

import (
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"holdfast/internal/web/webtest"
)

// Bounds of a page over the wire: it, its styles, its script and its fonts, as
// a browser that has nothing yet fetches them; photographs beside.
const mostOverTheWire = 150 << 10

// kinsfolk is how many addresses of one kind of page that differ only in the
// values behind the question mark are followed: every order and state of a list
// once, not every combination of them. Addresses without are followed all.
const kinsfolk = 25

// Every link and every GET form of the invented shop leads to a page that
// holds, says what it is and offers something to do.
func TestNoDeadLink(t *testing.T) {
	w := newWorld(t)
	c := newClient(t, w.server)
	seen := map[string]*webtest.Document{}
	weights := map[string]int{}
	assets := map[string]asset{}
	var anchors []string // addresses with a #place, checked when all is seen
	kin := map[string]int{}
	from := map[string]string{}
	queue := []string{"/"}
	add := func(link, on string) {
		page, place, _ := strings.Cut(link, "#")
		if place != "" && !slices.Contains(anchors, link) {
			anchors = append(anchors, link)
			from[link] = on
		}
		u, err := url.Parse(page)
		if err != nil {
			t.Errorf("%s links to %q: %v", on, link, err)
			return
		}
		if _, known := from[page]; known {
			return
		}
		if u.RawQuery != "" {
			key := shape(u)
			if kin[key]++; kin[key] > kinsfolk {
				return
			}
		}
		from[page] = on
		queue = append(queue, page)
	}
	from["/"] = "nowhere"
	for len(queue) > 0 {
		path := queue[0]
		queue = queue[1:]
		end, a := c.follow(path)
		if a.status != http.StatusOK {
			t.Errorf("%s, linked from %s: status %d", path, from[path], a.status)
			continue
		}
		if a.doc == nil {
			if a.wire == 0 {
				t.Errorf("%s, linked from %s, is empty", path, from[path])
			}
			continue
		}
		seen[path] = a.doc
		holds(t, end, a)
		for _, e := range a.doc.All("a[href]") {
			link := webtest.Attr(e, "href")
			switch {
			case strings.HasPrefix(link, "#"):
				add(path+link, path)
			case strings.HasPrefix(link, "/"):
				add(link, path)
			case strings.HasPrefix(link, "?"):
				u, _ := url.Parse(path)
				add(u.Path+link, path)
			case strings.HasPrefix(link, "https://"), strings.HasPrefix(link, "http://"): // a source, to be read elsewhere
			default:
				t.Errorf("%s links to %q", path, link)
			}
		}
		for _, f := range sheets(t, a.doc) {
			if f.method == http.MethodPost {
				continue
			}
			action := f.action
			if action == "" {
				u, _ := url.Parse(path)
				action = u.Path
			}
			action, _, _ = strings.Cut(action, "#")
			add(action+"?"+f.values.Encode(), path)
		}
		weights[path] = weigh(t, c, assets, path, a)
	}
	for _, link := range anchors {
		page, place, _ := strings.Cut(link, "#")
		doc := seen[page]
		if doc == nil {
			continue // its page was reported, or is one of many that are alike
		}
		if len(doc.All(`[id="`+place+`"]`)) != 1 {
			t.Errorf("%s, linked from %s: nothing there is called %q", page, from[link], place)
		}
	}
	heaviest := ""
	for path, n := range weights {
		if n > mostOverTheWire {
			t.Errorf("%s takes %d kB over the wire", path, n>>10)
		}
		if heaviest == "" || n > weights[heaviest] {
			heaviest = path
		}
	}
	t.Logf("%d pages; the heaviest, %s, takes %d kB over the wire", len(seen), heaviest, weights[heaviest]>>10)
	// What the invented shop has no reason to link to: none of its photographs are
	// slices of one focus. The other tests of pages look at it by its address.
	const stack = "GET /lots/{id}/bench/stack/{sha}"
	for _, p := range places {
		if p.pattern != stack && !slices.ContainsFunc(slices.Collect(maps.Keys(seen)), func(path string) bool { return matches(p.pattern, path) }) {
			t.Errorf("no link of the site leads to %s", p.pattern)
		}
	}
}

// shape is an address without the values of its query, and without the names
// of lots, tanks and so on in its path.
func shape(u *url.URL) string {
	path := u.Path
	for _, p := range places {
		if matches(p.pattern, path) {
			path = p.pattern
			break
		}
	}
	return path + "?" + strings.Join(slices.Sorted(maps.Keys(u.Query())), "&")
}

// matches reports whether an address belongs to a pattern of routes.go.
func matches(pattern, path string) bool {
	path, _, _ = strings.Cut(path, "?")
	a, b := strings.Split(strings.TrimPrefix(pattern, "GET "), "/"), strings.Split(path, "/")
	return slices.EqualFunc(a, b, func(a, b string) bool { return a == b || strings.HasPrefix(a, "{") })
}

// holds checks what every page owes its reader.
func holds(t *testing.T, path string, a answer) {
	t.Helper()
	if n := len(a.doc.All("main h1")); n != 1 {
		t.Errorf("%s has %d headings", path, n)
		return
	}
	if h := a.doc.Says("main h1"); h == "" || h == "Not found" {
		t.Errorf("%s is headed %q", path, h)
	}
	text := strings.ToLower(webtest.Text(a.doc.One("main")))
	for _, never := range []string{"lorem", "todo", "%!", "<nil>", " nan ", "+inf", "undefined"} {
		if strings.Contains(text, never) {
			t.Errorf("%s says %q", path, never)
		}
	}
	// A page that only lists leaves its reader with nothing to do. An entry of
	// the reference is there to be read.
	if !strings.HasPrefix(path, "/reference/") && len(a.doc.All("main form, main a.b, main button")) == 0 {
		t.Errorf("%s only lists: it offers nothing to do", path)
	}
	for _, e := range a.doc.All("[src],link[href]") {
		for _, name := range []string{"src", "href"} {
			if v := webtest.Attr(e, name); v != "" && !strings.HasPrefix(v, "/") {
				t.Errorf("%s loads %q", path, v)
			}
		}
	}
	ids := map[string]bool{}
	for _, e := range a.doc.All("[id]") {
		if id := webtest.Attr(e, "id"); ids[id] {
			t.Errorf("%s calls two things %q", path, id)
		} else {
			ids[id] = true
		}
	}
}

// weigh sums what a browser with an empty cache fetches for a page, without
// photographs; kept remembers what each asset takes and loads in turn.
func weigh(t *testing.T, c *client, kept map[string]asset, path string, a answer) int {
	t.Helper()
	all := map[string]int{}
	var fetch func(on, url string)
	fetch = func(on, url string) {
		if _, counted := all[url]; counted || !strings.HasPrefix(url, "/a/") {
			return
		}
		x, known := kept[url]
		if !known {
			b := c.get(url)
			if b.status != http.StatusOK {
				t.Errorf("%s loads %s: status %d", on, url, b.status)
			}
			x.bytes = b.wire
			if strings.HasSuffix(url, ".css") {
				for _, part := range strings.Split(string(b.body), "url(")[1:] {
					inner, _, _ := strings.Cut(part, ")")
					x.loads = append(x.loads, strings.Trim(inner, `"'`))
				}
			}
			kept[url] = x
		}
		all[url] = x.bytes
		for _, inner := range x.loads {
			fetch(url, inner)
		}
	}
	for _, e := range a.doc.All("script[src],img[src],link[href]") {
		fetch(path, webtest.Attr(e, "src")+webtest.Attr(e, "href"))
	}
	sum := a.wire
	for _, n := range all {
		sum += n
	}
	return sum
}

// asset is what a style sheet, script or font takes over the wire.
type asset struct {
	bytes int
	loads []string
}
