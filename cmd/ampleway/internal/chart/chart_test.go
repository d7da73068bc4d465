package chart

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/paulmach/orb/maptile"
	"pgregory.net/rapid"
)

// wellFormed parses an SVG to its end.
func wellFormed(t testing.TB, svg string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		_, err := d.Token()
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			t.Fatalf("%v in %.300s", err, svg)
		}
	}
}

func sound(t testing.TB, svg string) {
	t.Helper()
	wellFormed(t, svg)
	for _, bad := range []string{"NaN", "Inf"} {
		if strings.Contains(svg, bad) {
			t.Fatalf("%s in %.300s", bad, svg)
		}
	}
	for _, part := range []string{`role="img"`, "<title id=", "<desc id="} {
		if !strings.Contains(svg, part) {
			t.Fatalf("no %s", part)
		}
	}
}

func TestDrawingsAreSoundWhateverTheNumbers(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		number := rapid.Float64Range(0, 5000)
		points := func(name string) []XY {
			var out []XY
			for _, y := range rapid.SliceOfN(rapid.Float64Range(-100, 4000), 0, 20).Draw(r, name) {
				out = append(out, XY{number.Draw(r, "x"), y})
			}
			return out
		}
		label := rapid.String().Filter(func(s string) bool {
			return !strings.ContainsFunc(s, func(c rune) bool { return c < ' ' || c == 0xFFFE || c == 0xFFFF })
		}).Draw(r, "label")
		profile := Profile{ID: "p", Title: label, WidthPx: 360, Length: number.Draw(r, "length"), SoCPct: points("soc"), Height: points("height"),
			Stops: []ProfileStop{{At: number.Draw(r, "at"), Label: label}}, Legs: []ProfileLeg{{To: number.Draw(r, "to"), Label: label, Thin: true}}, Low: rapid.Bool().Draw(r, "low")}
		sound(t, string(profile.SVG()))
		charge := Charge{ID: "c", Title: label, Power: points("power"), SoC: points("soc"), LeaveMin: number.Draw(r, "leave"), NextKW: number.Draw(r, "next")}
		sound(t, string(charge.SVG()))
		lon, lat := rapid.Float64Range(-180, 180), rapid.Float64Range(-90, 90)
		line := []XY{{lon.Draw(r, "lon"), lat.Draw(r, "lat")}, {lon.Draw(r, "lon"), lat.Draw(r, "lat")}}
		m := Map{ID: "m", Title: label, WidthPx: 460, MostHeightPx: 460, MetresPerUnit: 1000, Unit: "km", Legs: []MapLeg{{Line: line, Width: 1, Thin: true, Label: label}},
			Start: Place{Lon: line[0].X, Lat: line[0].Y}, End: Place{Lon: line[1].X, Lat: line[1].Y}}
		sound(t, string(m.SVG()))
		panels := Panels{ID: "s", Title: label, Panels: []Panel{{Title: label, Lines: []Line{{label, points("first")}, {label, points("second")}}}, {}}}
		sound(t, panels.File())
	})
}

// Labels stay apart and in the order of their lines, and none sinks below the
// axis while there is room for all.
func TestLabelsOfLinesStayApart(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		const top, bottom = 46.0, 294.0
		var ends []end
		for _, y := range rapid.SliceOfN(rapid.Float64Range(top, bottom), 1, 17).Draw(r, "y") {
			ends = append(ends, end{y: y})
		}
		apart(ends, bottom)
		for i, e := range ends {
			if e.y > bottom || e.y < top-1e-9 || i > 0 && e.y < ends[i-1].y+labelTallPx-1e-9 {
				t.Fatalf("label %d at %g after %v", i, e.y, ends[:i])
			}
		}
	})
}

func TestStepsAreRoundAndFewEnough(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		span, most := rapid.Float64Range(1e-3, 1e6).Draw(r, "span"), rapid.IntRange(1, 12).Draw(r, "most")
		s := step(span, most)
		digit := s / math.Pow(10, math.Floor(math.Log10(s)+1e-9))
		if n := math.Round(digit); math.Abs(digit-n) > 1e-6 || (n != 1 && n != 2 && n != 5 && n != 10) {
			t.Fatalf("step %g", s)
		}
		if s*float64(most) < span*(1-1e-6) || s*float64(most) > 10*span {
			t.Fatalf("step %g for %g in %d", s, span, most)
		}
	})
}

// The world coordinates agree with those of orb/maptile, the tile's corner
// being a whole number of tiles.
func TestMercatorAgreesWithTheTileLibrary(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		zoom := rapid.IntRange(1, 18).Draw(r, "zoom")
		n := uint32(1) << zoom
		tile := maptile.New(rapid.Uint32Range(0, n-1).Draw(r, "x"), rapid.Uint32Range(0, n-1).Draw(r, "y"), maptile.Zoom(zoom))
		corner := tile.Bound().LeftTop()
		w := mercator(corner[0], corner[1])
		if math.Abs(w.X*float64(n)-float64(tile.X)) > 1e-6 || math.Abs(w.Y*float64(n)-float64(tile.Y)) > 1e-6 {
			t.Fatalf("%v: %g %g", tile, w.X*float64(n), w.Y*float64(n))
		}
	})
}

// On the equator a degree of longitude is 111.32 km on the WGS 84 equatorial
// radius (π/180 × 6,378,137 m).
func TestTheScaleHolds(t *testing.T) {
	m := Map{WidthPx: 460, MostHeightPx: 460, Legs: []MapLeg{{Line: []XY{{0, 0}, {1, 0}}}}}
	f := m.fit()
	if got := f.metresPerPx * (460 - 2*mapMarginPx); math.Abs(got-111319.49) > 1 {
		t.Errorf("a degree is %.1f m", got)
	}
}

// The figures of a stop at the very end of the road stay inside the drawing.
func TestAStopAtTheEndIsLabelledInside(t *testing.T) {
	for _, c := range []struct {
		at     float64
		anchor string
	}{{50, "start"}, {100, "end"}} {
		p := Profile{WidthPx: 360, Length: 100, SoCPct: []XY{{0, 90}, {c.at, 20}, {c.at, 60}, {100, 59}},
			Stops: []ProfileStop{{At: c.at, Label: "1", ArrivePct: 20, LeavePct: 60, Arrive: "20 %", Leave: "60 %"}}}
		if svg := string(p.SVG()); !strings.Contains(svg, `text-anchor="`+c.anchor+`">60 %<`) {
			t.Errorf("a stop at %g of 100: %s", c.at, svg)
		}
	}
}

// A low profile has the same parts in less height.
func TestALowProfileIsLower(t *testing.T) {
	p := Profile{WidthPx: 560, Length: 100, SoCPct: []XY{{0, 90}, {100, 20}}, Height: []XY{{0, 10}, {100, 300}}, HeightUnit: "m"}
	full := string(p.SVG())
	p.Low = true
	low := string(p.SVG())
	if !strings.Contains(full, `viewBox="0 0 560 370"`) || !strings.Contains(low, `viewBox="0 0 560 254"`) {
		t.Errorf("view boxes: %.120s and %.120s", full, low)
	}
	if strings.Count(full, "<path") != strings.Count(low, "<path") {
		t.Error("a part is missing")
	}
}

// The name of an end of the road stands below it where the road leads up from
// there, else above.
func TestNamesOfEndsStandOffTheRoad(t *testing.T) {
	for _, c := range []struct {
		northward float64
		dy        float64
	}{{1, 16}, {-1, -9}} {
		m := Map{WidthPx: 460, MostHeightPx: 460, MetresPerUnit: 1000, Unit: "km", Start: Place{Name: "here"}, End: Place{Lon: 2, Lat: 2 * c.northward},
			Legs: []MapLeg{{Line: []XY{{0, 0}, {1, c.northward}, {2, 2 * c.northward}}, Width: 1}}}
		f := m.fit()
		want := `y="` + px(f.at(0, 0).Y+c.dy) + `" text-anchor="start">here<`
		if svg := string(m.SVG()); !strings.Contains(svg, want) {
			t.Errorf("road to %g: no %s in %s", c.northward, want, svg)
		}
	}
}

// The label of a leg whose middle is a stop stands above the stop, whose name
// stands to its right.
func TestLabelOfALegStandsApart(t *testing.T) {
	m := Map{WidthPx: 460, MostHeightPx: 460, MetresPerUnit: 1000, Unit: "km", Start: Place{Name: "here"}, End: Place{Lon: 2, Name: "there"},
		Legs: []MapLeg{{Line: []XY{{0, 0}, {1, 0}, {2, 0}}, Thin: true, Label: "71 % to empty"}}, Stops: []Place{{Lon: 1, Mark: "1", Name: "Halfway"}}}
	at := m.fit().at(1, 0)
	svg := string(m.SVG())
	for text, want := range map[string]string{"Halfway": `x="` + px(at.X+13) + `" y="` + px(at.Y+4), "71 % to empty": `x="` + px(at.X) + `" y="` + px(at.Y-markPx-4)} {
		if !regexp.MustCompile(regexp.QuoteMeta(want) + `"[^>]*>` + text + "<").MatchString(svg) {
			t.Errorf("no %s at %s in %s", text, want, svg)
		}
	}
}
