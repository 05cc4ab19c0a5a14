// Command send times the adding of many small distinct JPEG files to the bench of
// a lot, in parts as the bench's own page sends them, and prints how long each
// part took.
//
//	go run -tags nodynamic ./bench/photo/send -n 2000 http://127.0.0.1:8080/lots/LOT/bench/add
package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"log"
	"mime/multipart"
	"net/http"
	"time"
)

// The parts that bench.js makes: a small one first.
const few, many = 12, 48

func main() {
	log.SetFlags(0)
	n := flag.Int("n", 2000, "how many files")
	from := flag.Int("from", 0, "number of the first; other numbers are other files")
	flag.Parse()
	if flag.NArg() != 1 {
		log.Fatal("give the address that the bench sends its files to")
	}
	began := time.Now()
	for sent := 0; sent < *n; {
		part := min(many, *n-sent)
		if sent == 0 {
			part = min(few, *n)
		}
		start := time.Now()
		if err := send(flag.Arg(0), *from+sent, part); err != nil {
			log.Fatal(err)
		}
		sent += part
		fmt.Printf("%5d sent, this part %4d ms, %.1f ms a file\n", sent, time.Since(start).Milliseconds(), float64(time.Since(start).Microseconds())/1000/float64(part))
	}
	fmt.Printf("%d files in %.1f s\n", *n, time.Since(began).Seconds())
}

// send sends files numbered from a number on in one request.
func send(to string, from, n int) error {
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for i := from; i < from+n; i++ {
		w, err := m.CreateFormFile("photo", fmt.Sprintf("IMG_%04d.JPG", i))
		if err != nil {
			return err
		}
		if err := jpeg.Encode(w, drawing(i), nil); err != nil {
			return err
		}
	}
	if err := m.Close(); err != nil {
		return err
	}
	r, err := http.NewRequest(http.MethodPost, to, &b)
	if err != nil {
		return err
	}
	r.Header.Set("Content-Type", m.FormDataContentType())
	r.Header.Set("Accept", "application/json")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	var out struct {
		Added int   `json:"added"`
		Bad   []any `json:"bad"`
	}
	if err := json.NewDecoder(resp.Body).Decode(&out); err != nil {
		return fmt.Errorf("status %d: %w", resp.StatusCode, err)
	}
	if out.Added != n || len(out.Bad) > 0 {
		return fmt.Errorf("of %d files %d were added, %d refused", n, out.Added, len(out.Bad))
	}
	return nil
}

// drawing is a small picture of which no two numbers are alike.
func drawing(n int) image.Image {
	img := image.NewGray(image.Rect(0, 0, 128, 96))
	for i := range img.Pix {
		img.Pix[i] = uint8(90 + i%40)
	}
	for bit := range 16 {
		if n>>bit&1 == 1 {
			for y := range 16 {
				for x := range 16 {
					img.SetGray(16*(bit%8)+x, 16*(bit/8)+y, color.Gray{Y: 220})
				}
			}
		}
	}
	return img
}
