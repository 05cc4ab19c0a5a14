package web

import (
	"net/http"
	"net/netip"
	"testing"
)

// Addresses are of the blocks for documentation, RFC 5737 and RFC 3849.
func TestClientOf(t *testing.T) {
	proxies := []netip.Prefix{netip.MustParsePrefix("127.0.0.1/32"), netip.MustParsePrefix("198.51.100.0/24"), netip.MustParsePrefix("::1/128")}
	for _, c := range []struct {
		says    string
		proxies []netip.Prefix
		remote  string
		header  []string
		want    string
	}{
		{"no proxy is named: the header is anybody's", nil, "127.0.0.1:5000", []string{"203.0.113.7"}, "127.0.0.1"},
		{"not from the proxy: the header is anybody's", proxies, "203.0.113.9:5000", []string{"203.0.113.7"}, "203.0.113.9"},
		{"one proxy", proxies, "127.0.0.1:5000", []string{"203.0.113.7"}, "203.0.113.7"},
		{"what the client wrote itself stands first", proxies, "127.0.0.1:5000", []string{"192.0.2.1, 203.0.113.7"}, "203.0.113.7"},
		{"two proxies, two headers", proxies, "[::1]:5000", []string{"192.0.2.1", "203.0.113.7, 198.51.100.4"}, "203.0.113.7"},
		{"the proxy says nothing", proxies, "127.0.0.1:5000", nil, "127.0.0.1"},
		{"only proxies", proxies, "127.0.0.1:5000", []string{"198.51.100.4"}, "198.51.100.4"},
		{"nonsense", proxies, "127.0.0.1:5000", []string{"203.0.113.7, unknown"}, "127.0.0.1"},
		{"IPv4 written as IPv6", proxies, "[::ffff:127.0.0.1]:5000", []string{"::ffff:203.0.113.7"}, "203.0.113.7"},
		{"an IPv6 network", proxies, "127.0.0.1:5000", []string{"2001:db8:1:2:3:4:5:6"}, "2001:db8:1:2::/64"},
		{"no address at all", proxies, "@", []string{"203.0.113.7"}, "@"},
	} {
		s := &Server{Config: Config{Proxies: c.proxies}}
		r := &http.Request{RemoteAddr: c.remote, Header: http.Header{"X-Forwarded-For": c.header}}
		if got := s.clientOf(r); got != c.want {
			t.Errorf("%s: from %q, want %q", c.says, got, c.want)
		}
	}
}
