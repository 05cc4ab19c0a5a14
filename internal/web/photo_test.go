package web

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/textproto"
	"strings"
	"testing"

	"holdfast"
	"holdfast/internal/media"
)

func TestPhotographIsKeptShownAndRefused(t *testing.T) {
	s := newServer(t)
	s.Photos = media.Open(t.TempDir())
	lot := lotOf(t, s)
	send := func(data string) *httptest.ResponseRecorder {
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		_ = m.WriteField("note", "left gill")
		head := textproto.MIMEHeader{"Content-Disposition": {`form-data; name="photo"; filename*=utf-8''card%5CIM%07G_1.jpg`}}
		if part, err := m.CreatePart(head); err == nil {
			_, _ = part.Write([]byte(data))
		}
		_ = m.Close()
		r := httptest.NewRequest("POST", "http://localhost/lots/"+lot+"/photo", &b)
		r.Header.Set("Content-Type", m.FormDataContentType())
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		return w
	}
	before := entries(t, s)
	if w := send("<svg onload=alert(1)>"); w.Code != http.StatusBadRequest || entries(t, s) != before {
		t.Errorf("no photograph: status %d", w.Code)
	}
	const jpeg = "\xff\xd8\xff\xe0 an invented photograph"
	if w := send(jpeg); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	l, err := s.Desk.Lot(t.Context(), lot)
	if err != nil {
		t.Fatal(err)
	}
	if p := l.Events[len(l.Events)-1].Payload.(*holdfast.PhotoAdded); p.Name != "IMG_1.jpg" {
		t.Errorf("it is kept under the name %q", p.Name)
	}
	body := get(t, s, "/lots/"+lot).Body.String()
	_, rest, ok := strings.Cut(body, `src="/photos/`)
	if !ok || !strings.Contains(body, "left gill") {
		t.Fatal("the lot's page does not show it")
	}
	sum, _, _ := strings.Cut(rest, `"`)
	w := get(t, s, "/photos/"+sum)
	if w.Code != http.StatusOK || w.Body.String() != jpeg || w.Header().Get("Content-Type") != "image/jpeg" {
		t.Errorf("status %d, %q", w.Code, w.Header().Get("Content-Type"))
	}
	if w := get(t, s, "/photos/"+strings.Repeat("a", 64)); w.Code != http.StatusNotFound {
		t.Errorf("an unknown photograph: status %d", w.Code)
	}
}

func TestFileNameInAHeaderStaysAName(t *testing.T) {
	for name, want := range map[string]string{
		"case-2026-11-25.pdf":  `attachment; filename=case-2026-11-25.pdf`,
		`a"; filename="b.exe`:  `attachment; filename="a\"; filename=\"b.exe"`,
		"a\r\nSet-Cookie: x=1": `attachment; filename*=utf-8''a%0D%0ASet-Cookie%3A%20x%3D1`,
		"Rückgrat 1.pdf":       `attachment; filename*=utf-8''R%C3%BCckgrat%201.pdf`,
	} {
		w := httptest.NewRecorder()
		attach(w, "application/pdf", name)
		if got := w.Header().Get("Content-Disposition"); got != want {
			t.Errorf("%q: %s, want %s", name, got, want)
		}
	}
}
