package sheet_test

import (
	"context"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"ampleway/route/study"
	"ampleway/route/study/sheet"
)

// The page holds every drawing, each well-formed, and asks nothing of any other
// place.
func TestPage(t *testing.T) {
	s, err := study.Demo()
	if err != nil {
		t.Fatal(err)
	}
	summary, err := study.Run(context.Background(), s, study.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var page strings.Builder
	if err := sheet.Write(&page, summary); err != nil {
		t.Fatal(err)
	}
	text := page.String()
	want := 1
	for _, c := range summary.Corridors {
		cars := map[string]bool{}
		for _, curve := range c.Curves {
			cars[curve.Car] = true
		}
		want += 2 + len(cars)
	}
	if n := strings.Count(text, "<svg"); n != want {
		t.Errorf("%d drawings, want %d", n, want)
	}
	for _, part := range strings.Split(text, "<svg")[1:] {
		d := xml.NewDecoder(strings.NewReader("<svg" + part[:strings.Index(part, "</svg>")+len("</svg>")]))
		for {
			if _, err := d.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatal(err)
			}
		}
	}
	if strings.Contains(strings.ReplaceAll(text, "http://www.w3.org/2000/svg", ""), "http") {
		t.Error("the page asks for something elsewhere")
	}
	for _, want := range []string{"north", "First failure", "×", "▲"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q on the page", want)
		}
	}
}
