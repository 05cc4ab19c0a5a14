package web

import (
	"net/http"
	"net/netip"
	"strings"
)

// clientOf returns the address that tries to sign in are counted by. A request of
// a known proxy comes from the last address in X-Forwarded-For that is no known
// proxy: what stands before it anybody may have written. Of IPv6 the network is
// taken, since one client has as many addresses as it likes.
func (s *Server) clientOf(r *http.Request) string {
	port, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	from := port.Addr().Unmap().WithZone("")
	hops := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
	for i := len(hops) - 1; i >= 0 && s.isProxy(from); i-- {
		a, err := netip.ParseAddr(strings.TrimSpace(hops[i]))
		if err != nil {
			break // no address: the proxy's own is all that is known
		}
		from = a.Unmap().WithZone("")
	}
	if from.Is6() {
		net, _ := from.Prefix(64) // of an IPv6 address there is one
		return net.String()
	}
	return from.String()
}

func (s *Server) isProxy(a netip.Addr) bool {
	for _, p := range s.Proxies {
		if p.Contains(a) {
			return true
		}
	}
	return false
}
