package open_test

import (
	"errors"
	"strings"
	"testing"

	"ampleway/data/fault"
	"ampleway/stations/open"
	"ampleway/testdata"
)

// Each file of testdata/broken/stations either gives its named error, or is
// read with its bad records rejected and its odd ones listed.
func TestBroken(t *testing.T) {
	for _, c := range []struct {
		file     string
		err      error    // nil: read
		says     string   // part of the error
		sites    int      // read
		rejected []string // part of each rejection, in order
		suspects []string // part of each suspect, in order
		notes    string
	}{
		{file: "quote-open.csv", err: open.ErrSyntax, says: "line 3"},
		{file: "quote-stray.csv", sites: 2, rejected: []string{"line 3, column 9: found a stray quote"}},
		{file: "quote-lines.csv", sites: 3, rejected: []string{"line 3, column 4: found a stray quote"}},
		{file: "bom.csv", sites: 2},
		{file: "utf16.csv", sites: 2, notes: "UTF-16"},
		{file: "utf16-unmarked.csv", err: open.ErrEncoding, says: "byte order mark"},
		{file: "latin1.csv", sites: 1, rejected: []string{"line 3, name: found Caf"}},
		{file: "negative.csv", sites: 1, rejected: []string{"line 3, power_kw: found -150: expected zero or a positive number", "line 4, stalls: found -1: expected a whole number"}},
		{file: "nan.csv", sites: 1, rejected: []string{"line 3, lon: found NaN", "line 4, power_kw: found NaN", "line 5, power_kw: found +Inf"}},
		{file: "huge.csv", sites: 2, rejected: []string{"line 3, lon: found 1e308", "line 4, power_kw: found 1e300", "line 6, stalls: found 99999999999999999999"}, suspects: []string{"line 5, power_kw: found 3000: more kW"}},
		{file: "swapped.csv", sites: 27, rejected: []string{"line 27, lat: found -131.2"}, suspects: []string{
			"line 26, position: found 44.1, -31.2: far from the others, but not with longitude and latitude exchanged",
			"line 28, position: found 0, 0: longitude 0, latitude 0", "line 29, position: found 100.5, 12.5: far from the others"}},
		{file: "fields.csv", sites: 2, rejected: []string{"line 3: found 5 fields: expected 7"}},
		{file: "comma.csv", sites: 1, rejected: []string{"line 3, lon: found -31,4: expected degrees from -180 to 180 with a decimal point"}},
		{file: "words.csv", sites: 2, rejected: []string{
			"line 3, power_kw: found 150 kW: expected zero or a positive number with a decimal point and no unit", "line 4, access: found everyone: expected one of",
			"line 5, status: found broken: expected one of", "line 6, updated: found 02.01.2026: expected a date", "line 7, currency: found euro: expected an ISO 4217"},
			suspects: []string{"line 8, hours: found by day: not understood"}},
		{file: "duplicates.geojson", sites: 2, suspects: []string{"feature 2 (line 3), id: found a1: the same as at feature 1 (line 2)"}},
		{file: "header-missing.csv", err: open.ErrUnknownFormat, says: "line 1: found a1"},
		{file: "header-twice.csv", err: open.ErrSyntax, says: "each column once"},
		{file: "empty.csv", err: open.ErrNothingUsable, says: "an empty file"},
		{file: "blank.csv", err: open.ErrNothingUsable, says: "an empty file"},
		{file: "header-only.csv", err: open.ErrNothingUsable, says: "at least one usable station"},
		{file: "unusable.csv", err: open.ErrNothingUsable, says: "line 2, lon: found nothing: expected degrees: nothing usable (2 records rejected)"},
		{file: "route.geojson", err: open.ErrNothingUsable, says: "geometry: found LineString"},
		{file: "bare-line.json", err: open.ErrNothingUsable, says: "type: found LineString"},
		{file: "picture.png", err: open.ErrUnknownFormat},
		{file: "deep.json", err: open.ErrTooDeep, says: "at most 64 deep"},
		{file: "deep-properties.geojson", err: open.ErrTooDeep},
		{file: "truncated.geojson", err: open.ErrSyntax, says: "line 2: found the end of the file"},
		{file: "comma-missing.geojson", err: open.ErrSyntax, says: `line 2: found '{'`},
		{file: "types.geojson", sites: 1, rejected: []string{
			"feature 2 (line 3), power_kw: found a JSON string: expected a number", "feature 3 (line 4), coordinates", "feature 4 (line 5), geometry: found none", "feature 5 (line 6), coordinates",
			"feature 6 (line 7), coordinates: found 44.1, -131.2", "feature 7 (line 8), power_kw: found -5", "feature 8 (line 9), power_kw: found -1", "feature 9 (line 10), count: found 1000000000",
			"feature 10 (line 11), stalls", "feature 11 (line 12)", "feature 12 (line 13)", "feature 13 (line 14): not JSON", "feature 14 (line 15), power_kw"}},
		{file: "ocpi.json", sites: 2, rejected: []string{"location 2 (line 2), coordinates: found 44,1", "location 3 (line 3), coordinates", "location 6 (line 6), evses", "location 4 (line 4), position"}, suspects: []string{
			"location 1 (line 1), max_voltage: found 400", "location 5 (line 5), status: found SLEEPING", "location 5 (line 5), max_voltage, max_amperage: found 500 V, 9000 A"}},
		{file: "broken.osm", err: open.ErrSyntax, says: "line 1"},
		{file: "no-osm.xml", err: open.ErrUnknownFormat},
		{file: "half.csv.gz", says: "a whole compressed file", err: errAny},
	} {
		t.Run(c.file, func(t *testing.T) {
			_, report, err := readFile(testdata.Path("broken", "stations", c.file), open.Options{})
			if c.err != nil {
				var bad *fault.Input
				if !errors.As(err, &bad) || c.err != errAny && !errors.Is(err, c.err) || !strings.Contains(err.Error(), c.says) || !strings.Contains(bad.File, c.file) {
					t.Errorf("error %v", err)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if report.Sites != c.sites {
				t.Errorf("%d sites, want %d", report.Sites, c.sites)
			}
			listed(t, "rejected", report.Rejected, c.rejected)
			listed(t, "suspects", report.Suspects, c.suspects)
			if !strings.Contains(strings.Join(report.Notes, "\n"), c.notes) {
				t.Errorf("notes %q", report.Notes)
			}
		})
	}
}

// A snapshot that comes through a pipe cannot be read, and is told apart from a
// CSV file with one strange column.
func TestSnapshotThroughAPipe(t *testing.T) {
	_, _, err := open.Read(strings.NewReader("PAR1\x15\x04\x15"), "-", open.Options{})
	if !errors.Is(err, open.ErrUnknownFormat) || !strings.Contains(err.Error(), "give it by name") {
		t.Errorf("error %v", err)
	}
}

// errAny stands for any error that blames the input.
var errAny = errors.New("any")

func listed(t *testing.T, what string, got []open.Problem, want []string) {
	t.Helper()
	if len(got) != len(want) {
		t.Errorf("%s: %q, want %q", what, got, want)
		return
	}
	for i, p := range got {
		if !strings.Contains(p.String(), want[i]) {
			t.Errorf("%s %d: %q, want %q", what, i+1, p, want[i])
		}
	}
}
