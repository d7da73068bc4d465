package study_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"ampleway/route/study"
	"ampleway/testdata"
)

// made writes invented stations along made corridors of a length, so many to a
// corridor, with 50 to 300 kW, and returns the corridors' lines of a study file
// in the same folder. The corridors lie on parallels of latitude 0.5° apart.
func made(t testing.TB, folder string, corridors int, km float64, stations int) string {
	t.Helper()
	var csv, between strings.Builder
	csv.WriteString("id,name,lon,lat,connector,power_kw,stalls\n")
	powers := []int{50, 75, 150, 150, 200, 300}
	for c := range corridors {
		lat := -20 + 0.5*float64(c)
		degKM := 111.32 * math.Cos(lat*math.Pi/180)
		west := -150.0
		east := west + km/degKM
		fmt.Fprintf(&between, "  - {name: line %d, from: [%.6f, %.6f], to: [%.6f, %.6f], speed_kmh: 110}\n", c, west, lat, east, lat)
		for i := range stations {
			at := west + (east-west)*(float64(i)+0.5)/float64(stations)
			fmt.Fprintf(&csv, "s%d-%d,stop %d,%.6f,%.6f,CCS2,%d,2\n", c, i, i, at, lat+bulge(lat, (at-west)/(east-west), east-west), powers[(i*7+c)%len(powers)])
		}
	}
	if err := os.WriteFile(filepath.Join(folder, "stations.csv"), []byte(csv.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	return "format: ampleway-study-2\nstations: [stations.csv]\nbetween:\n" + between.String()
}

// bulge is about how far a great circle leaves its parallel, degrees.
func bulge(lat, share, lonSpan float64) float64 {
	rad := math.Pi / 180
	return share * (1 - share) / 2 * math.Pow(lonSpan*rad, 2) * math.Sin(lat*rad) * math.Cos(lat*rad) / rad
}

func inFolder(t testing.TB, folder, text string) *study.Study {
	t.Helper()
	path := filepath.Join(folder, "study.yaml")
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := study.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// cost is what a run took.
type cost struct {
	cases     int64
	wall, cpu time.Duration
}

func (c cost) String() string {
	return fmt.Sprintf("%d cases, %.1f s wall, %.1f s CPU: %.0f cases/s wall, %.0f µs CPU a case", c.cases, c.wall.Seconds(), c.cpu.Seconds(), float64(c.cases)/c.wall.Seconds(), float64(c.cpu.Microseconds())/float64(c.cases))
}

func run(t testing.TB, s *study.Study, o study.Options) cost {
	t.Helper()
	before, began := cpuTime(), time.Now()
	summary, err := study.Run(context.Background(), s, o)
	if err != nil {
		t.Fatal(err)
	}
	return cost{cases: summary.Cases, wall: time.Since(began), cpu: cpuTime() - before}
}

func cpuTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// speedAxes has 600 cases a block, of 1,000 km with 100 chargers where the
// corridors are made so.
const speedAxes = `cars: [mid-size-sedan, crossover]
confidence_pct: [%d]
temp_c: [20, -10]
leave_with_pct: [%s]
reserve_pct: {from: 5, to: 24, step: 1}
outages: {none: true, random: {down: 2, sets: %d}}
skip_worst_outage: %t
`

// Cases on 1,000 km with 100 chargers. On a machine that others use too, CPU
// time a case is what can be compared: 8,000 cases a second on two cores are
// 250 µs of CPU a case.
func TestSpeed(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: takes seconds")
	}
	for _, c := range []struct {
		name       string
		confidence int
		departs    string
		sets       int
		skip       bool
		within     time.Duration
	}{
		{"five departures, outages", 0, "60, 70, 80, 90, 100", 5, true, 250 * time.Microsecond},
		{"five departures, outages, the worst of them", 0, "60, 70, 80, 90, 100", 5, false, 500 * time.Microsecond},
		{"one departure, outages", 0, "90", 29, true, 1000 * time.Microsecond},
		{"five departures, outages, at 95 %", 95, "60, 70, 80, 90, 100", 5, true, 3500 * time.Microsecond},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.sets > 5 && !testdata.Slow() {
				t.Skip("skipped: AMPLEWAY_SLOW=1 runs it")
			}
			folder := t.TempDir()
			head := made(t, folder, 2, 1000, 100)
			s := inFolder(t, folder, head+fmt.Sprintf(speedAxes, c.confidence, c.departs, c.sets, c.skip))
			got := run(t, s, study.Options{Folder: t.TempDir(), Workers: 2})
			t.Log(got)
			if perCase := got.cpu / time.Duration(got.cases); perCase > c.within {
				t.Errorf("%v of CPU a case, over %v", perCase, c.within)
			}
		})
	}
}

// What a case costs as corridors grow, and what a second worker brings.
func TestGrowth(t *testing.T) {
	if !testdata.Slow() {
		t.Skip("skipped: AMPLEWAY_SLOW=1 runs it")
	}
	for _, size := range []struct {
		km       float64
		chargers int
	}{{250, 25}, {500, 50}, {1000, 100}, {2000, 200}, {4000, 400}, {1000, 400}} {
		folder := t.TempDir()
		s := inFolder(t, folder, made(t, folder, 2, size.km, size.chargers)+fmt.Sprintf(speedAxes, 0, "60, 70, 80, 90, 100", 5, true))
		t.Logf("%g km, %d chargers: %v", size.km, size.chargers, run(t, s, study.Options{Folder: t.TempDir(), Workers: 2}))
	}
	folder := t.TempDir()
	s := inFolder(t, folder, made(t, folder, 20, 1000, 100)+fmt.Sprintf(speedAxes, 0, "60, 70, 80, 90, 100", 5, true))
	for _, workers := range []int{1, 2, 1, 2} {
		t.Logf("%d workers of %d cores: %v", workers, runtime.NumCPU(), run(t, s, study.Options{Folder: t.TempDir(), Workers: workers}))
	}
}

// A million cases in a process of their own, so that its peak memory can be
// told.
func TestMillion(t *testing.T) {
	if !testdata.Slow() {
		t.Skip("skipped: AMPLEWAY_SLOW=1 runs it")
	}
	folder := t.TempDir()
	inFolder(t, folder, made(t, folder, 20, 1000, 100)+`cars: [mid-size-sedan, crossover]
temp_c: [20, 10, 0, -10, -20]
leave_with_pct: [60, 70, 80, 90, 100]
reserve_pct: {from: 5, to: 24, step: 1}
outages: {none: true, random: {down: 2, sets: 49}}
`)
	c := exec.Command(os.Args[0])
	out := filepath.Join(folder, "out")
	c.Env = append(os.Environ(), "AMPLEWAY_STUDY_CHILD="+filepath.Join(folder, "study.yaml"), "AMPLEWAY_STUDY_FOLDER="+out, "AMPLEWAY_STUDY_WORKERS=2")
	c.Stderr = os.Stderr
	began := time.Now()
	if err := c.Run(); err != nil {
		t.Fatal(err)
	}
	m, err := study.ReadManifest(out)
	if err != nil {
		t.Fatal(err)
	}
	usage := c.ProcessState.SysUsage().(*syscall.Rusage)
	cpu := time.Duration(usage.Utime.Nano() + usage.Stime.Nano())
	size, err := os.Stat(filepath.Join(out, study.CasesFile))
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%v; peak memory %.0f MB; %.0f bytes a case in Parquet; %d can be made", cost{cases: m.Cases, wall: time.Since(began), cpu: cpu}, float64(usage.Maxrss)/1024, float64(size.Size())/float64(m.Cases), m.Feasible)
	if m.Cases != 1_000_000 || !m.Complete {
		t.Errorf("%d cases, complete %t", m.Cases, m.Complete)
	}
	if usage.Maxrss > 400*1024 {
		t.Errorf("%d MB at the most", usage.Maxrss/1024)
	}
}
