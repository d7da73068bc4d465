package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"ampleway/testdata"
)

// refusalRoad is a straight road to the east along 50° north, a point every
// 0.05 degrees (3.6 km), 401 km long.
func refusalRoad(t *testing.T, points ...[2]float64) string {
	t.Helper()
	if len(points) == 0 {
		points = [][2]float64{{10, 50}, {15.6, 50}}
	}
	var b strings.Builder
	b.WriteString(`<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="test"><trk><name>Invented road</name><trkseg>`)
	for i := 1; i < len(points); i++ {
		const pieces = 100.0
		for k := range int(pieces) + 1 {
			share := float64(k) / pieces
			fmt.Fprintf(&b, `<trkpt lon="%.5f" lat="%.5f"/>`,
				points[i-1][0]+share*(points[i][0]-points[i-1][0]), points[i-1][1]+share*(points[i][1]-points[i-1][1]))
		}
	}
	b.WriteString(`</trkseg></trk></gpx>`)
	return tempFile(t, "road.gpx", b.String())
}

func tempFile(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

const refusalColumns = "id,name,lon,lat,operator,connector,current,power_kw,stalls,access,status,reach\n"

// oneLine undoes the line breaks of a paragraph.
func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }

var remedyOptions = []struct {
	says *regexp.Regexp
	flag string // with the figure found; without: the flag is taken away
	drop bool
}{
	{regexp.MustCompile(`\(--connector ([^)]+)\)`), "--connector", false},
	{regexp.MustCompile(`\(--half-width ([^)]+)\)`), "--half-width", false},
	{regexp.MustCompile(`\((--customer-sites|--ac)\)`), "", false},
	{regexp.MustCompile(`\(without (--[a-z-]+)\)`), "", true},
	{regexp.MustCompile(`leave with at least (\d+) %`), "--leave-with", false},
	{regexp.MustCompile(`accept a reserve of (\d+) %`), "--reserve", false},
	{regexp.MustCompile(`accept a confidence of (\d+) %`), "--confidence", false},
	{regexp.MustCompile(`drive no faster than (\d+) km/h`), "--speed-cap", false},
}

// withRemedy is a command line with what a refusal's remedy says.
func withRemedy(t *testing.T, args []string, remedy string) []string {
	t.Helper()
	for _, r := range remedyOptions {
		m := r.says.FindStringSubmatch(remedy)
		switch {
		case m == nil:
			continue
		case r.drop:
			i := slices.Index(args, m[1])
			if i < 0 {
				t.Fatalf("%q takes away an option that was not given: %v", remedy, args)
			}
			takes := 2
			if m[1] == "--no-assumed-power" {
				takes = 1
			}
			return slices.Delete(slices.Clone(args), i, i+takes)
		case r.flag == "":
			return append(slices.Clone(args), m[1])
		}
		return append(slices.Clone(args), r.flag, m[1])
	}
	if m := regexp.MustCompile(`a fast charger near (\d+) km`).FindStringSubmatch(remedy); m != nil {
		var km float64
		if _, err := fmt.Sscan(m[1], &km); err != nil {
			t.Fatal(err)
		}
		const kmPerDegree = 71.70 // of longitude at 50° north, WGS 84
		more := tempFile(t, "more.csv", refusalColumns+fmt.Sprintf("new,New,%.4f,50,South,CCS2,dc,350,4,,,\n", 10+km/kmPerDegree))
		return append(slices.Clone(args), "--stations", more)
	}
	if i := slices.Index(args, "--most-stops"); i >= 0 && remedy == "allow more stops" {
		return slices.Delete(slices.Clone(args), i, i+2)
	}
	if strings.Contains(remedy, "plan by the estimate alone") {
		return append(slices.Clone(args), "--confidence", "0")
	}
	t.Fatalf("no test of the remedy %q", remedy)
	return nil
}

// remediesOf are the remedies that a refusal lists.
func remediesOf(refusal string) []string {
	_, list, found := strings.Cut(oneLine(refusal), "each alone: ")
	if !found {
		return nil
	}
	list, _, _ = strings.Cut(list, ". Stations on that stretch")
	return strings.Split(strings.TrimSuffix(list, "."), "; ")
}

// A refusal gives the true reason, and each of its remedies gives a plan.
func TestRefusalsAreTrue(t *testing.T) {
	testdata.Sequential(t)
	middle := func(access, status, reach string) string {
		return "m,Midway,12.8,50.001,North,CCS2,dc,150,4," + access + "," + status + "," + reach + "\n"
	}
	plain := middle("", "", "")
	for _, c := range []struct {
		name     string
		stations string // rows
		road     [][2]float64
		args     []string
		want     []string // in this order
		not      []string
		remedy   string // one that must be there
	}{
		{
			name: "no usable bay at all", stations: "a,Alder,12.8,50.001,,,,,,,,\nb,Birch,12.9,50.001,,,,,,,,\n",
			want: []string{"This trip cannot be planned: from the start (0 km) the car cannot reach the destination (401 km) with", "- 2: no bay or plug in the data"}, remedy: "a fast charger near",
		},
		{
			name: "another inlet of the same kind", stations: strings.ReplaceAll(plain+strings.ReplaceAll(plain, "m,Midway", "n,Nextway"), "CCS2", "CCS1"),
			want: []string{"2 fast sites here have CCS1. Look at your inlet: add --connector CCS1 only if it is CCS1. Use a fast-charging adapter only if the car's maker allows it. This trip cannot be planned",
				"- 2: no plug that fits (CCS1 at 2)"},
			remedy: "(--connector CCS1)",
		},
		{
			name: "a plug of another kind", stations: strings.ReplaceAll(plain, "CCS2", "CHAdeMO"),
			want: []string{"- 1: no plug that fits (CHAdeMO at 1)"}, not: []string{"Look at your inlet", "--connector"},
		},
		{
			name: "plugs of an unknown name", stations: strings.ReplaceAll(plain, "CCS2", "X\x1b[31m Plug\u202e"),
			want: []string{`Plug names that are not known here: plugs "X31m Plug" 4: --alias "X31m Plug=j3400", if that is what they are.`, "- 1: no plug that fits (X31m Plug at 1)"},
			not:  []string{"\x1b", "\u202e"},
		},
		{
			name: "power not known", stations: strings.ReplaceAll(plain, "150", ""),
			want: []string{"- 1: no power in the data for the plug that fits"},
		},
		{
			name: "alternating current alone", stations: "a,Alder,12.8,50.001,,Type 2,ac,22,2,,,\n",
			want: []string{"- 1: alternating current only"}, remedy: "(--ac)",
		},
		{
			name: "none works", stations: middle("", "out_of_order", "") + strings.ReplaceAll(middle("", "closed", ""), "m,Midway", "n,Nextway"),
			want: []string{"- 2: closed or out of order"},
		},
		{name: "only", stations: plain, args: []string{"--only", "South"}, want: []string{"- 1: another operator or network"}, remedy: "(without --only)"},
		{name: "avoid", stations: plain, args: []string{"--avoid", "North"}, want: []string{"- 1: operator or site to avoid"}, remedy: "(without --avoid)"},
		{name: "least power", stations: plain, args: []string{"--least-power", "300"}, want: []string{"- 1: too little power"}, remedy: "(without --least-power)"},
		{name: "power class", stations: plain, args: []string{"--power-between", "300-"}, want: []string{"- 1: not in the power classes asked for"}, remedy: "(without --power-between)"},
		{name: "restricted", stations: middle("customers", "", ""), want: []string{"- 1: not open to the public"}, remedy: "(--customer-sites)"},
		{name: "private", stations: middle("private", "", ""), want: []string{"- 1: not open to the public"}, not: []string{"--customer-sites"}},
		{name: "the other direction", stations: middle("", "", "W"), want: []string{"- 1: entered from the other direction alone"}},
		{
			name: "6 km off the road", stations: "a,Alder,12.8,50.054,,CCS2,dc,150,4,,,\n",
			want: []string{"Alder is 6.0 km off it"}, remedy: "(--half-width 7)",
		},
		{
			name: "another country", stations: "a,Alder,30,50,,CCS2,dc,150,4,,,\n",
			want: []string{"The station files do not cover this road: their nearest station is about 1000 km away from it. This trip cannot be planned"},
		},
		{
			name: "half of the road", stations: "a,Alder,10.5,50.001,,CCS2,dc,150,4,,,\nb,Birch,12,50.001,,CCS2,dc,150,4,,,\n", road: [][2]float64{{10, 50}, {18, 50}},
			want: []string{"The station files have no station of any kind within 50 km of the road from 195 km to 574 km: look whether they cover that part. This trip cannot be planned: from Birch"},
		},
		{name: "too few stops", stations: plain + "b,Birch,11.6,50.001,,CCS2,dc,150,4,,,\n" + "c,Cedar,14.2,50.001,,CCS2,dc,150,4,,,\n",
			road: [][2]float64{{10, 50}, {17, 50}}, args: []string{"--temp", "-10", "--most-stops", "1"}, want: []string{"cannot be planned"}, remedy: "allow more stops"},
	} {
		t.Run(c.name, func(t *testing.T) {
			args := append([]string{"trip", "--route", refusalRoad(t, c.road...), "--stations", tempFile(t, "s.csv", refusalColumns+c.stations), "--car", "mid-size-sedan"}, c.args...)
			code, out, refusal := ampleway(t, "", args...)
			if code != exitNoPlan || out != "" {
				t.Fatalf("exit %d\n%s%s", code, out, refusal)
			}
			rest := oneLine(refusal)
			for _, want := range c.want {
				_, after, found := strings.Cut(rest, want)
				if !found {
					t.Errorf("does not say %q, in its place:\n%s", want, refusal)
				}
				rest = after
			}
			for _, not := range c.not {
				if strings.Contains(refusal, not) {
					t.Errorf("says %q:\n%s", not, refusal)
				}
			}
			remedies := remediesOf(refusal)
			if c.remedy != "" && !slices.ContainsFunc(remedies, func(r string) bool { return strings.Contains(r, c.remedy) }) {
				t.Errorf("no remedy %q in %q\n%s", c.remedy, remedies, refusal)
			}
			if testing.Short() {
				remedies = remedies[:min(len(remedies), 1)]
			}
			for _, r := range remedies {
				if code, _, errOut := ampleway(t, "", withRemedy(t, args, r)...); code != exitOK {
					t.Errorf("%q gives no plan: exit %d\n%s", r, code, errOut)
				}
			}
		})
	}
}

// The alias that a refusal prints reads the plugs.
func TestThePrintedAliasReadsThePlugs(t *testing.T) {
	sites := tempFile(t, "s.csv", refusalColumns+"m,Midway,12.8,50.001,,\"X, Plug\",dc,150,4,,,\n")
	args := []string{"trip", "--route", refusalRoad(t), "--stations", sites, "--car", "mid-size-sedan", "--connector", "J3400"}
	_, _, refusal := ampleway(t, "", args...)
	m := regexp.MustCompile(`--alias "([^"]+)"`).FindStringSubmatch(oneLine(refusal))
	if m == nil {
		t.Fatalf("no alias:\n%s", refusal)
	}
	if code, _, errOut := ampleway(t, "", append(args, "--alias", m[1])...); code != exitOK {
		t.Errorf("--alias %q: exit %d\n%s", m[1], code, errOut)
	}
}

// Of a register of the United States table, a car with the inlet of the
// built-in classes can use nothing: that is said first, the cause is counted,
// and with the plug the trip can be made.
func TestPlugsComeFirstOnARealRegister(t *testing.T) {
	args := []string{"trip", "--stations", testdata.OpenData(t, "us-alt-fuel", "sample.csv"), "--car", "mid-size-sedan", "--route",
		refusalRoad(t, [2]float64{-122.66, 45.6}, [2]float64{-122.9, 46.5}, [2]float64{-122.9, 47}, [2]float64{-122.4, 47.2}, [2]float64{-122.3, 47.6}, [2]float64{-122.2, 48}, [2]float64{-122.47, 48.75})}
	code, _, refusal := ampleway(t, "", args...)
	_, said, _ := strings.Cut(oneLine(refusal), "ampleway: ")
	_, said, _ = strings.Cut(said, "kW ")
	if code != exitNoPlan || !regexp.MustCompile(`\d\d fast sites here have CCS1\. Look at your inlet: add --connector CCS1 only if it is CCS1\. Use a fast-charging adapter only if the car's maker allows it\. This trip`).MatchString(said) {
		t.Errorf("exit %d\n%s", code, refusal)
	}
	if lines := strings.Count(refusal, "\n- "); lines > 5 {
		t.Errorf("%d lines of reasons:\n%s", lines, refusal)
	}
	code, out, errOut := ampleway(t, "", append(args, "--connector", "CCS1")...)
	if code != exitOK || strings.Contains(out, "Look at your inlet") {
		t.Errorf("exit %d\n%s%s", code, out, errOut)
	}
	// With a fast charger that fits, the plan says it as its first warning.
	more := tempFile(t, "more.csv", refusalColumns+"m,Midway,-122.4,47.2,North,CCS2,dc,150,4,,,\n")
	code, out, errOut = ampleway(t, "", append(args, "--stations", more)...)
	if head, _, _ := strings.Cut(out, "km   time"); code != exitOK || !strings.Contains(oneLine(head), "fast sites here have CCS1. Look at your inlet") {
		t.Errorf("exit %d\n%s%s", code, out, errOut)
	}
}

// A stop a good way off the road, whose detour is an estimate, is told of above
// the table; one whose detour the data state is not.
func TestAStopAcrossARiver(t *testing.T) {
	for detour, told := range map[string]bool{"": true, "9000": false} {
		sites := tempFile(t, "s.csv", "id,name,lon,lat,connector,power_kw,stalls,detour_m\na,Seaford,12.8,50.0414,CCS2,150,4,"+detour+"\n")
		code, out, errOut := ampleway(t, "", "trip", "--route", refusalRoad(t), "--stations", sites, "--car", "mid-size-sedan")
		head, _, _ := strings.Cut(out, "km   time")
		if code != exitOK || strings.Contains(oneLine(head), "Seaford: it is 4.6 km off the road; the detour is an estimate: look at the map.") != told {
			t.Errorf("detour %q: exit %d\n%s%s", detour, code, out, errOut)
		}
	}
}

// A trip that fails by less than is shown is not said to lack nothing.
func TestRefusedByLittle(t *testing.T) {
	road, sites := tempFile(t, "road.geojson", `{"type":"LineString","coordinates":[[10,50],[11,50]]}`), tempFile(t, "sites.csv", "lon,lat,connector,power_kw\n20,60,CCS2,150\n")
	refused, said := 10.0, ""
	for planned := 90.0; planned-refused > 0.01; {
		leave := (refused + planned) / 2
		code, _, errOut := ampleway(t, "", "trip", "--route", road, "--stations", sites, "--confidence", "0", "--leave-with", fmt.Sprint(leave))
		if code == exitOK {
			planned = leave
			continue
		}
		refused, said = leave, plain(errOut)
	}
	if !strings.Contains(said, "; 0.1 kWh are missing, about 0.") || strings.Contains(said, "about 0.0 km") {
		t.Errorf("leaving with %g %%: %s", refused, said)
	}
}
