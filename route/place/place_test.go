package place_test

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"ampleway/data"
	"ampleway/data/fault"
	"ampleway/route/place"
)

// row is a line of a table as GeoNames has it, of an invented place.
func row(name, ascii, others string, lat, lon float64, country, region string, population int) string {
	return strings.Join([]string{"1", name, ascii, others, fmt.Sprint(lat), fmt.Sprint(lon), "P", "PPL", country, "", region, "", "", "", fmt.Sprint(population), "", "12", "Etc/GMT", "2026-01-01"}, "\t") + "\n"
}

var table = "\ufeff" + strings.Join([]string{
	row("Ålvik", "Alvik", "Alfwic,Old Alvik", 45.5, -30.25, "XA", "North", 12000),
	row("Newtown", "Newtown", "", 46, -31, "XA", "North", 300),
	row("Newtown", "Newtown", "", 47, -32, "XB", "East", 400),
	row("Harbour", "Harbour", "", 45, -33, "XA", "West", 90000),
	row("Harbour", "Harbour", "", 44, -34, "XB", "East", 800),
	row("Twin", "Twin", "", 45, -35, "XA", "West", 5000),
	row("Twin", "Twin", "", 45.01, -35.01, "XA", "West", 4900),
	"\n",
}, "")

func list(t testing.TB, text string) *place.List {
	t.Helper()
	l, err := place.Read(strings.NewReader(text), "places.txt")
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestFind(t *testing.T) {
	l := list(t, table)
	if l.Len() != 7 {
		t.Errorf("%d places, want 7", l.Len())
	}
	for text, want := range map[string]orb.Point{
		"Ålvik":             {-30.25, 45.5},
		"ålvik":             {-30.25, 45.5},
		" alvik ":           {-30.25, 45.5},
		"OLD  ALVIK":        {-30.25, 45.5},
		"A\u030alvik":       {-30.25, 45.5},
		"Newtown, XB":       {-32, 47},
		"newtown,north":     {-31, 46},
		"Harbour":           {-33, 45},
		"Harbour, East":     {-34, 44},
		"Harbour, East, XB": {-34, 44},
		"Twin":              {-35, 45},
		"7.25,45.5":         {7.25, 45.5},
		" -7.25 , -45.5 ":   {-7.25, -45.5},
	} {
		got, err := l.Find(text)
		if err != nil || got.At != want {
			t.Errorf("%q is at %v (%v), want %v", text, got.At, err, want)
		}
	}
}

func TestNotFound(t *testing.T) {
	l := list(t, table)
	for text, want := range map[string]string{
		"Newtown":   `place: found "Newtown": expected one place: it may be Newtown, East, XB (-32,47); Newtown, North, XA (-31,46)`,
		"Harbor":    `place: found "Harbor": expected longitude,latitude or a name in the place list, such as Harbour, West, XA (-33,45); Harbour, East, XB (-34,44)`,
		"Zzz":       `place: found "Zzz": expected longitude,latitude or a name in the place list`,
		"":          `place: found "": expected longitude,latitude or a name in the place list`,
		"45,120.5":  `place: found "45,120.5": expected longitude,latitude in degrees within ±180 and ±90 (they look exchanged)`,
		"NaN,45":    `place: found "NaN,45": expected longitude,latitude in degrees within ±180 and ±90`,
		"200,300":   `place: found "200,300": expected longitude,latitude in degrees within ±180 and ±90`,
		"Ålvik, XB": `place: found "Ålvik, XB": expected longitude,latitude or a name in the place list, such as Ålvik, North, XA (-30.25,45.5)`,
	} {
		_, err := l.Find(text)
		var in *fault.Input
		if !errors.As(err, &in) || err.Error() != want {
			t.Errorf("%q:\ngot  %v\nwant %s", text, err, want)
		}
	}
	_, err := new(place.List).Find("Ålvik")
	if want := `place: found "Ålvik": expected longitude,latitude (there is no place list to look a name up in)`; err == nil || err.Error() != want {
		t.Errorf("without a list: %v", err)
	}
}

func TestDemoPlaces(t *testing.T) {
	l, err := place.Read(bytes.NewReader(data.Places()), "places.geojson")
	if err != nil {
		t.Fatal(err)
	}
	p, err := l.Find("velmouth")
	if err != nil || math.Abs(p.At.Lon()+152.95) > 0.1 || p.Name != "Velmouth" {
		t.Errorf("Velmouth is %v, %v", p, err)
	}
}

func TestGeoJSONList(t *testing.T) {
	l := list(t, `{"type":"FeatureCollection","features":[
	{"type":"Feature","properties":{"name":"Quay","country":"XA","population":50},"geometry":{"type":"Point","coordinates":[7,45,12]}},
	{"type":"Feature","properties":{"name":null},"geometry":{"type":"Point","coordinates":[8,45]}},
	{"type":"Feature","properties":{"name":"Lake"},"geometry":{"type":"Polygon","coordinates":[]}},
	{"type":"Feature","properties":{"name":"Nowhere"},"geometry":null}]}`)
	p, err := l.Find("quay")
	if err != nil || l.Len() != 1 || p.Population != 50 || p.String() != "Quay, XA (7,45)" {
		t.Errorf("%v, %v, %d places", p, err, l.Len())
	}
}

func TestBrokenLists(t *testing.T) {
	good := row("A", "A", "", 1, 2, "XA", "", 0)
	for _, test := range []struct{ name, text, want string }{
		{"empty", "", "p: found no place: expected a table as GeoNames has it, or GeoJSON with named points"},
		{"commas", "A,1,2\n", "p, line 1: found 1 columns: expected 19 columns parted by tabs, as GeoNames has them"},
		{"latitude", good + strings.Replace(good, "\t1\t2\t", "\tnorth\t2\t", 1), `p, line 2, latitude: found "north": expected decimal degrees`},
		{"longitude", strings.Replace(good, "\t1\t2\t", "\t1\t\t", 1), `p, line 1, longitude: found "": expected decimal degrees`},
		{"off the earth", strings.Replace(good, "\t1\t2\t", "\t91\t2\t", 1), "p, line 1, latitude: found 91: expected degrees within ±90"},
		{"far round", strings.Replace(good, "\t1\t2\t", "\t1\tNaN\t", 1), "p, line 1, longitude: found NaN: expected degrees within ±180"},
		{"population", strings.Replace(good, "\t0\t", "\tmany\t", 1), `p, line 1, population: found "many": expected a whole number`},
		{"no name", strings.Replace(good, "\tA\t", "\t\t", 1), "p, line 1, name: found nothing: expected a name"},
		{"long line", strings.Repeat("x", 2<<20), "p, line 1: expected a line of at most 1 MB: bufio.Scanner: token too long"},
		{"JSON", "{\n\"type\":", "p, line 2: expected a GeoJSON FeatureCollection: the file ends too early"},
		{"other JSON", `{"type":"Feature"}`, `p, type: found "Feature": expected FeatureCollection`},
		{"coordinates", `{"type":"FeatureCollection","features":[{"properties":{"name":"A"},"geometry":{"type":"Point","coordinates":[1]}}]}`, "p, feature 1, coordinates: found [1]: expected longitude and latitude"},
		{"point off the earth", `{"type":"FeatureCollection","features":[{"properties":{"name":"A"},"geometry":{"type":"Point","coordinates":[1,95]}}]}`, "p, feature 1, latitude: found 95: expected degrees within ±90"},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, err := place.Read(strings.NewReader(test.text), "p")
			var in *fault.Input
			if !errors.As(err, &in) || err.Error() != test.want {
				t.Errorf("got  %v\nwant %s", err, test.want)
			}
		})
	}
}

func FuzzRead(f *testing.F) {
	f.Add(table, "Newtown, XB")
	f.Add(string(data.Places()), "1,2")
	f.Fuzz(func(t *testing.T, text, name string) {
		l, err := place.Read(strings.NewReader(text), "fuzz")
		var in *fault.Input
		if err != nil {
			if !errors.As(err, &in) || in.File != "fuzz" {
				t.Fatalf("not a located input error: %v", err)
			}
			return
		}
		p, err := l.Find(name)
		if err != nil && !errors.As(err, &in) {
			t.Fatalf("not an input error: %v", err)
		}
		if err == nil && !(math.Abs(p.At.Lat()) <= 90 && math.Abs(p.At.Lon()) <= 180) {
			t.Fatalf("%v", p)
		}
	})
}

func Example() {
	text := row("Ålvik", "Alvik", "", 45.5, -30.25, "XA", "", 12000) // invented
	l, err := place.Read(strings.NewReader(text), "places.txt")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, question := range []string{"alvik", "7.1,45.2", "Alvi"} {
		p, err := l.Find(question)
		if err != nil {
			fmt.Println(err)
			continue
		}
		fmt.Println(p)
	}
	// Output:
	// Ålvik, XA (-30.25,45.5)
	// 7.1,45.2 (7.1,45.2)
	// place: found "Alvi": expected longitude,latitude or a name in the place list, such as Ålvik, XA (-30.25,45.5)
}

func BenchmarkRead(b *testing.B) {
	var text strings.Builder
	for i := range 150_000 {
		text.WriteString(row(fmt.Sprintf("Plåce %d", i), fmt.Sprintf("Place %d", i), "one,two", 45, float64(i)/1000, "XA", "01", i))
	}
	for b.Loop() {
		list(b, text.String())
	}
}
