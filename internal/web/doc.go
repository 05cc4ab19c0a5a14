// Package web is the desk's door for people: pages rendered on the server,
// forms that post, nothing a page needs from another host.
//
// The whole site is one list, in routes.go. A handler returns an error; one
// map, in problem.go, turns errors into pages that say what is wrong, what was
// kept and the one next thing. A page is rendered into memory before its
// status is sent, so a fault never leaves half a page behind.
//
// Between a request and its handler stand, from the outside in: the log, the
// security headers, the check of the host name, the session, the refusal of
// forms from foreign pages, the net for panics, the bound on the body, and
// sign-in where the desk can be reached from another machine.
package web
