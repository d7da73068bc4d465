package synthetic_test

import (
	"encoding/json"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"ampleway/route/input"
	"ampleway/stations"
	"ampleway/stations/open"
	"ampleway/stations/synthetic"
	"ampleway/testdata"
)

// pace is what a reader took for a file.
type pace struct{ wall, cpu time.Duration }

func (p pace) mbPerS(bytes int64) (wall, cpu float64) {
	return float64(bytes) / 1e6 / p.wall.Seconds(), float64(bytes) / 1e6 / p.cpu.Seconds()
}

func ourPace(t *testing.T, path string, want int) pace {
	t.Helper()
	var before, after syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &before)
	start := time.Now()
	sites, _, err := input.Here.Sites([]string{path}, open.Options{})
	wall := time.Since(start)
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &after)
	if err != nil || len(sites) != want {
		t.Fatalf("%d sites of %d, %v", len(sites), want, err)
	}
	return pace{wall, time.Duration(after.Utime.Nano() + after.Stime.Nano() - before.Utime.Nano() - before.Stime.Nano())}
}

// best keeps the run that took the least processor time of three, and of one
// where the files are long: what else the machine does only ever adds.
func best(t *testing.T, run func() pace) pace {
	t.Helper()
	least := run()
	if testdata.Slow() {
		return least
	}
	for range 2 {
		if again := run(); again.cpu < least.cpu {
			least = again
		}
	}
	return least
}

func toolPace(t *testing.T, want string, name string, args ...string) pace {
	t.Helper()
	return best(t, func() pace {
		command := exec.Command(testdata.Tool(t, name), args...)
		start := time.Now()
		out, err := command.CombinedOutput()
		wall := time.Since(start)
		if err != nil || !strings.Contains(string(out), want) {
			t.Fatalf("%s: %v: %s", name, err, out)
		}
		return pace{wall, command.ProcessState.UserTime() + command.ProcessState.SystemTime()}
	})
}

// TestReadingPace reads the same files as general tools do and sees the same
// number of sites. Paces are told; of files that are large enough to outweigh
// what starting and collecting garbage cost, ours must not be below a tool's by
// processor time.
func TestReadingPace(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: short runs, such as those under the race detector, measure nothing")
	}
	n := 20_000
	if testdata.Slow() {
		n = 300_000
	}
	sites := synthetic.Sites(n, 1)
	dir := t.TempDir()
	geo, table := filepath.Join(dir, "sites.geojson"), filepath.Join(dir, "sites.csv")
	geoBytes, tableBytes := create(t, geo, sites, synthetic.WriteGeoJSON), create(t, table, sites, synthetic.WriteCSV)
	locations := filepath.Join(dir, "locations.json")
	places := manyLocations(t, locations, n/4)
	info, err := os.Stat(locations)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		file  string
		bytes int64
		sites int
		tools map[string]pace
	}{
		{locations, info.Size(), places, map[string]pace{
			"jq": toolPace(t, strconv.Itoa(places), "jq", "length", locations),
		}},
		{geo, geoBytes, n, map[string]pace{
			"jq":      toolPace(t, strconv.Itoa(n), "jq", ".features|length", geo),
			"ogr2ogr": toolPace(t, "", "ogr2ogr", "-f", "CSV", "/vsistdout/", geo),
		}},
		{table, tableBytes, n, map[string]pace{
			"ogr2ogr": toolPace(t, "", "ogr2ogr", "-f", "CSV", "/vsistdout/", table),
		}},
	} {
		ours := best(t, func() pace { return ourPace(t, c.file, c.sites) })
		wall, cpu := ours.mbPerS(c.bytes)
		t.Logf("%s, %.0f MB: ampleway %.0f MB/s (%.0f by processor time)", filepath.Base(c.file), float64(c.bytes)/1e6, wall, cpu)
		for name, p := range c.tools {
			toolWall, toolCPU := p.mbPerS(c.bytes)
			t.Logf("  %s %.0f MB/s (%.0f by processor time)", name, toolWall, toolCPU)
			if testdata.Slow() && cpu < toolCPU {
				t.Errorf("%s: %s is faster, %.0f MB/s against %.0f by processor time", filepath.Base(c.file), name, toolCPU, cpu)
			}
		}
	}
}

// manyLocations writes the invented OCPI locations of the reader's samples over
// and over, as one list, and returns how many there are.
func manyLocations(t testing.TB, path string, copies int) int {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "open", "testdata", "samples", "ocpi-page.json"))
	if err != nil {
		t.Fatal(err)
	}
	var page struct {
		Data []json.RawMessage `json:"data"`
	}
	if err := json.Unmarshal(text, &page); err != nil || len(page.Data) == 0 {
		t.Fatalf("%d locations, %v", len(page.Data), err)
	}
	all, err := json.Marshal(slices.Repeat(page.Data, copies))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, all, 0o644); err != nil {
		t.Fatal(err)
	}
	return len(page.Data) * copies
}

func create(t *testing.T, path string, sites stations.Sites, write func(io.Writer, stations.Sites) error) int64 {
	t.Helper()
	file, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	if err := write(file, sites); err != nil {
		t.Fatal(err)
	}
	info, err := file.Stat()
	if err != nil {
		t.Fatal(err)
	}
	return info.Size()
}
