package web

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

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
		if part, err := m.CreateFormFile("photo", "IMG_1.jpg"); err == nil {
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
