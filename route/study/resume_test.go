package study_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"ampleway/data"
	"ampleway/data/fault"
	"ampleway/route/study"
	"ampleway/testdata"
)

// TestMain lets this program be started again as a run of a study that can be
// killed.
func TestMain(m *testing.M) {
	if path := os.Getenv("AMPLEWAY_STUDY_CHILD"); path != "" {
		os.Exit(child(path))
	}
	os.Exit(m.Run())
}

func child(path string) int {
	s, err := study.ReadFile(path)
	if err == nil {
		workers, _ := strconv.Atoi(os.Getenv("AMPLEWAY_STUDY_WORKERS"))
		_, err = study.Run(context.Background(), s, study.Options{Folder: os.Getenv("AMPLEWAY_STUDY_FOLDER"), CSV: os.Getenv("AMPLEWAY_STUDY_CSV") != "", Resume: true, Workers: workers})
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

const manyJobs = `format: ampleway-study-2
name: killed and resumed
corridors: [demo:north, demo:pass, demo:upland]
stations: [demo]
cars: [small-hatch]
temp_c: [20, -10]
speed_cap_kmh: [null, 90, 110]
leave_with_pct: [60, 80, 100]
reserve_pct: {from: 0, to: 36, step: 2}
confidence_pct: [0]
outages: {none: true, random: {down: 2, sets: 9}}
skip_worst_outage: true
`

// contents maps the files of a folder of results to what is in them.
func contents(t testing.TB, folder string) map[string]string {
	t.Helper()
	entries, err := os.ReadDir(folder)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	for _, e := range entries {
		if e.IsDir() {
			t.Errorf("%s is left behind in %s", e.Name(), folder)
			continue
		}
		text, err := os.ReadFile(filepath.Join(folder, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		out[e.Name()] = string(text)
	}
	return out
}

func equal(t testing.TB, what string, got, want map[string]string) {
	t.Helper()
	for name := range want {
		if got[name] != want[name] {
			t.Errorf("%s: %s differs (%d bytes, %d)", what, name, len(got[name]), len(want[name]))
		}
	}
	if len(got) != len(want) {
		t.Errorf("%s: %d files, not %d", what, len(got), len(want))
	}
}

// Killed (SIGKILL) at random moments and started again until it is done, a
// run ends with the bytes of one that nothing disturbed.
func TestKilledAndResumed(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: takes seconds")
	}
	folder := t.TempDir()
	path := filepath.Join(folder, "study.yaml")
	if err := os.WriteFile(path, []byte(manyJobs), 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := study.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	calm := filepath.Join(folder, "calm")
	began := time.Now()
	if _, err := study.Run(context.Background(), s, study.Options{Folder: calm, CSV: true}); err != nil {
		t.Fatal(err)
	}
	took := time.Since(began)
	want := contents(t, calm)
	wanted := 2
	if testdata.Slow() {
		wanted = 20
	}
	rng := rand.New(rand.NewPCG(1, 2))
	killed, round := 0, 0
	for ; killed < wanted; round++ {
		out := filepath.Join(folder, fmt.Sprintf("killed-%d", round))
		for {
			done, err := runChild(path, out, time.Duration(rng.Float64()*float64(took)))
			if err != nil {
				t.Fatal(err)
			}
			if done {
				break
			}
			killed++
		}
		equal(t, "after kills", contents(t, out), want)
	}
	t.Logf("killed %d times in %d runs", killed, round)
}

// runChild runs the study in another process and kills it after a time unless
// it is done.
func runChild(path, folder string, after time.Duration) (done bool, err error) {
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), "AMPLEWAY_STUDY_CHILD="+path, "AMPLEWAY_STUDY_FOLDER="+folder, "AMPLEWAY_STUDY_CSV=1")
	var text bytes.Buffer
	c.Stderr = &text
	if err := c.Start(); err != nil {
		return false, err
	}
	timer := time.AfterFunc(after, func() { c.Process.Kill() })
	defer timer.Stop()
	err = c.Wait()
	var exit *exec.ExitError
	if errors.As(err, &exit) && exit.Sys().(syscall.WaitStatus).Signaled() {
		return false, nil
	}
	if err != nil {
		return false, fmt.Errorf("%w: %s", err, text.String())
	}
	return true, nil
}

// An interruption (Ctrl-C ends the context) leaves whole, readable results that
// say they are not complete, and can be resumed to the bytes of a calm run.
func TestInterrupted(t *testing.T) {
	folder := t.TempDir()
	calm, broken := filepath.Join(folder, "calm"), filepath.Join(folder, "broken")
	if _, err := study.Run(context.Background(), parse(t, manyJobs), study.Options{Folder: calm}); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	summary, err := study.Run(ctx, parse(t, manyJobs), study.Options{Folder: broken, Workers: 1, Tell: func(p study.Progress) {
		if p.DoneJobs == 3 {
			stop()
		}
	}})
	if err != nil {
		t.Fatal(err)
	}
	m, err := study.ReadManifest(broken)
	if err != nil {
		t.Fatal(err)
	}
	rows := readAll(t, broken)
	if m.Complete || m.JobsLeft == 0 || summary.Cases == 0 || int64(len(rows)) != m.Cases || m.Cases != summary.Cases {
		t.Fatalf("complete %t, %d jobs left, %d cases in the summary, %d in the manifest, %d rows", m.Complete, m.JobsLeft, summary.Cases, m.Cases, len(rows))
	}
	if _, err := study.Run(context.Background(), parse(t, manyJobs), study.Options{Folder: broken, Resume: true}); err != nil {
		t.Fatal(err)
	}
	equal(t, "resumed", contents(t, broken), contents(t, calm))
}

// An interruption ends even a drive of very many cases soon: a job is dropped
// that it finds unfinished.
func TestInterruptedWithinADrive(t *testing.T) {
	s := parse(t, `format: ampleway-study-2
corridors: [demo:north]
stations: [demo]
reserve_pct: {from: 0, to: 40, step: 0.0005}
skip_worst_outage: true
`)
	ctx, stop := context.WithTimeout(context.Background(), 300*time.Millisecond)
	defer stop()
	began := time.Now()
	summary, err := study.Run(ctx, s, study.Options{Folder: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	if took := time.Since(began); took > 3*time.Second {
		t.Errorf("it went on for %v", took)
	}
	if m := summary.Manifest; m.Complete || m.JobsLeft != 1 || summary.Cases != 0 {
		t.Errorf("complete %t, %d jobs left, %d cases", m.Complete, m.JobsLeft, summary.Cases)
	}
}

// What is held in memory at once has a named limit.
func TestTooManyCases(t *testing.T) {
	const head = "format: ampleway-study-2\nstations: [demo]\ncorridors: [demo:north]\n"
	var many strings.Builder
	for i := range 600 {
		fmt.Fprintf(&many, "%g,", 20+float64(i)/100)
	}
	for text, field := range map[string]string{
		"reserve_pct: {from: 0, to: 50, step: 0.001}\noutages: {random: {down: 1, sets: 1000}}\n": "reserve_pct",
		fmt.Sprintf("temp_c: [%s]\nspeed_cap_kmh: [%s]\n", many.String(), many.String()):          "temp_c",
		"reserve_pct: {from: 0, to: 100, step: 0.0000001}\n":                                      "reserve_pct",
	} {
		var bad *fault.Input
		if _, err := study.Parse([]byte(head+text), "test", ""); !errors.As(err, &bad) || !errors.Is(err, study.ErrTooMany) || !strings.Contains(bad.Field, field) {
			t.Errorf("%v, want a fault of %s", err, field)
		}
	}
}

// A range or an axis that has no values, no end or values that are no numbers is
// named with its axis.
func TestRangesThatAreNone(t *testing.T) {
	const head = "format: ampleway-study-2\nstations: [demo]\ncorridors: [demo:north]\n"
	for text, field := range map[string]string{
		"reserve_pct: {from: 0, to: 30, step: 0}\n":                               "reserve_pct",
		"reserve_pct: {from: 0, to: 30, step: -1}\n":                              "reserve_pct",
		"reserve_pct: {from: 30, to: 0, step: 1}\n":                               "reserve_pct",
		"reserve_pct: {from: 0, to: .inf, step: 1}\n":                             "reserve_pct",
		"reserve_pct: {from: .nan, to: 30, step: 1}\n":                            "reserve_pct",
		"reserve_pct: {from: 0, to: 30, step: .nan}\n":                            "reserve_pct",
		"reserve_pct: {from: 0, to: 30, step: .inf}\n":                            "reserve_pct",
		"reserve_pct: {from: 0, to: 30}\n":                                        "reserve_pct",
		"cases: [{temp_c: [0]}, {reserve_pct: {from: 0, to: 100, step: 1e-7}}]\n": "reserve_pct",
		"temp_c: [.inf]\n":                                    "temp_c",
		"speed_cap_kmh: [.nan]\n":                             "speed_cap_kmh",
		"speed_cap_kmh: [5]\n":                                "speed_cap_kmh",
		"wind_kmh: [.inf]\n":                                  "wind_kmh",
		"leave_with_pct: [101]\n":                             "leave_with_pct",
		"build: {every_km: .inf, power_kw: [150]}\n":          "build.every_km",
		"outages: {random: {down: 1, sets: 1000001}}\n":       "outages.random",
		"between: [{name: x, from: [0, .nan], to: [1, 2]}]\n": "",
	} {
		var bad *fault.Input
		_, err := study.Parse([]byte(head+text), "test", "")
		if !errors.As(err, &bad) || bad.Field != field || bad.File != "test" || bad.Found == "" || bad.Expected == "" {
			t.Errorf("%s: %v, want a fault of %s", text, err, field)
			continue
		}
		if strings.HasPrefix(text, "cases") && bad.Where != "cases, entry 2" {
			t.Errorf("%s: %v", text, err)
		}
	}
}

// A second run on a folder is refused while the first is at work, and names it;
// a killed one holds nothing.
func TestOneRunAFolder(t *testing.T) {
	folder := t.TempDir()
	path, out := filepath.Join(folder, "study.yaml"), filepath.Join(folder, "out")
	if err := os.WriteFile(path, []byte(strings.Replace(manyJobs, "step: 2", "step: 0.2", 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	first := exec.Command(os.Args[0])
	first.Env = append(os.Environ(), "AMPLEWAY_STUDY_CHILD="+path, "AMPLEWAY_STUDY_FOLDER="+out)
	if err := first.Start(); err != nil {
		t.Fatal(err)
	}
	lock := filepath.Join(out, study.LockFile)
	for held := []byte(nil); len(held) == 0; held, _ = os.ReadFile(lock) {
		time.Sleep(time.Millisecond)
	}
	small := parse(t, "format: ampleway-study-2\ncorridors: [demo:upland]\nstations: [demo]\n")
	_, err := study.Run(context.Background(), small, study.Options{Folder: out})
	var bad *fault.Input
	if !errors.As(err, &bad) || bad.File != out || !strings.Contains(bad.Found, fmt.Sprintf("process %d on ", first.Process.Pid)) {
		t.Errorf("a second run: %v", err)
	}
	if err := first.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	if err := first.Wait(); err == nil {
		t.Fatal("the first run was done before it was killed")
	}
	if _, err := os.Stat(lock); err != nil {
		t.Errorf("the killed run left no lock to be stale: %v", err)
	}
	if _, err := study.Run(context.Background(), small, study.Options{Folder: out}); err != nil {
		t.Errorf("after the first was killed: %v", err)
	}
	contents(t, out)
	if _, err := os.Stat(lock); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the lock stays: %v", err)
	}
}

// The number of workers does not show, nor do parts: joined they are the whole.
func TestWorkersAndPartsDoNotShow(t *testing.T) {
	folder := t.TempDir()
	at := func(name string) string { return filepath.Join(folder, name) }
	run := func(name string, o study.Options) {
		o.Folder, o.CSV = at(name), true
		if _, err := study.Run(context.Background(), parse(t, oneCar), o); err != nil {
			t.Fatal(err)
		}
	}
	run("one", study.Options{Workers: 1})
	run("five", study.Options{Workers: 5})
	want := contents(t, at("one"))
	equal(t, "five workers", contents(t, at("five")), want)
	var parts []string
	for k := range 3 { // one of them has no corridor
		name := fmt.Sprintf("part-%d", k)
		run(name, study.Options{Part: study.Part{Index: k, Of: 3}})
		parts = append(parts, at(name))
	}
	if _, err := study.Join([]string{parts[2], parts[0], parts[1]}, study.JoinOptions{Folder: at("joined"), CSV: true}); err != nil {
		t.Fatal(err)
	}
	equal(t, "joined", contents(t, at("joined")), want)

	run("other", study.Options{Part: study.Part{Index: 0, Of: 2}})
	for _, bad := range [][]string{{parts[0], parts[1]}, {parts[0], parts[1], parts[1]}, {parts[0], parts[1], at("other")}, {parts[0], parts[1], folder}} {
		if _, err := study.Join(bad, study.JoinOptions{Folder: at("refused")}); err == nil {
			t.Errorf("%v was joined", bad)
		} else {
			t.Log(err)
		}
	}
	if err := os.WriteFile(filepath.Join(parts[0], study.CasesFile), []byte("PAR1"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := study.Join(parts, study.JoinOptions{Folder: at("refused")}); err == nil {
		t.Error("a damaged part was joined")
	}
}

// What cannot be used is named and counted, and the rest is done.
func TestFaultsAreNamed(t *testing.T) {
	folder := t.TempDir()
	write := func(name, text string) {
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	good, err := data.Corridor("upland")
	if err != nil {
		t.Fatal(err)
	}
	write("a.geojson", string(good))
	write("b.gpx", "<gpx><trk>")
	write("stations.csv", "id,name,lon,lat,connector,power_kw,stalls\nx,far,0,0,CCS2,150,2\ny,broken,400,0,CCS2,150,2\n")
	s := inFolder(t, folder, "format: ampleway-study-2\ncorridors: [\"*.g*\", missing.gpx]\nstations: [demo, stations.csv]\ntemp_c: [10, -60]\n")
	summary, err := study.Run(context.Background(), s, study.Options{Folder: filepath.Join(folder, "out")})
	if err != nil {
		t.Fatal(err)
	}
	m := summary.Manifest
	if summary.Cases == 0 || len(summary.Corridors) != 1 || !m.Complete {
		t.Errorf("%d cases on %d corridors", summary.Cases, len(summary.Corridors))
	}
	var text bytes.Buffer
	if err := summary.WriteText(&text); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"corridor b", "corridor missing", "stations.csv: 1 of 2 records"} {
		if !strings.Contains(text.String(), want) {
			t.Errorf("%q is not named in:\n%s", want, text.String())
		}
	}
	if m.FaultCount() < 3 {
		t.Errorf("%d faults are counted: %+v", m.FaultCount(), m.Faults)
	}
}

// A full disk is named and ends in an error; with room again the run goes on to
// the bytes of a calm one.
func TestFullDisk(t *testing.T) {
	disk := t.TempDir()
	if err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=48k"); err != nil {
		t.Skip("skipped: no right to mount a small file system:", err)
	}
	defer syscall.Unmount(disk, 0)
	out := filepath.Join(disk, "out")
	summary, err := study.Run(context.Background(), parse(t, manyJobs), study.Options{Folder: out, CSV: true})
	if !errors.Is(err, syscall.ENOSPC) || summary != nil {
		t.Fatalf("%v, not a full disk; summary %v", err, summary)
	}
	t.Log(err)
	claimsNothing(t, out)
	if err := syscall.Mount("tmpfs", disk, "tmpfs", syscall.MS_REMOUNT, "size=64m"); err != nil {
		t.Fatal(err)
	}
	if _, err := study.Run(context.Background(), parse(t, manyJobs), study.Options{Folder: out, CSV: true, Resume: true}); err != nil {
		t.Fatal(err)
	}
	calm := t.TempDir()
	if _, err := study.Run(context.Background(), parse(t, manyJobs), study.Options{Folder: calm, CSV: true}); err != nil {
		t.Fatal(err)
	}
	equal(t, "after a full disk", contents(t, out), contents(t, calm))
}

// claimsNothing looks for files that say something about results.
func claimsNothing(t *testing.T, folder string) {
	t.Helper()
	for _, name := range []string{study.ManifestFile, study.SummaryFile, study.TextFile, study.BuildFile, study.PageFile} {
		if _, err := os.Stat(filepath.Join(folder, name)); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("%s is there (%v)", name, err)
		}
	}
}

// A disk that fills anywhere on the way, on which there are results of an
// earlier study, never has a manifest that claims what is not there.
func TestDiskFullAnywhere(t *testing.T) {
	text := "format: ampleway-study-2\ncorridors: [demo:upland]\nstations: [demo]\ncars: [small-hatch]\ntemp_c: [20, -10]\nreserve_pct: {from: 0, to: 30, step: 1}\nconfidence_pct: [0]\nskip_worst_outage: true\n"
	disk := t.TempDir()
	if err := syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=1m"); err != nil {
		t.Skip("skipped: no right to mount a small file system:", err)
	}
	defer syscall.Unmount(disk, 0)
	out := filepath.Join(disk, "out")
	if _, err := study.Run(context.Background(), parse(t, text+"name: earlier\n"), study.Options{Folder: out, CSV: true}); err != nil {
		t.Fatal(err)
	}
	failed, done := 0, 0
	var free syscall.Statfs_t
	if err := syscall.Statfs(disk, &free); err != nil {
		t.Fatal(err)
	}
	for spare := 0; spare < 200_000; spare += 4096 {
		ballast := filepath.Join(disk, "ballast")
		if err := os.WriteFile(ballast, make([]byte, max(0, int(free.Bfree)*int(free.Bsize)-spare)), 0o644); err != nil {
			t.Fatal(err)
		}
		summary, err := study.Run(context.Background(), parse(t, text+"name: later\n"), study.Options{Folder: out, CSV: true})
		if err := os.Remove(ballast); err != nil {
			t.Fatal(err)
		}
		if err == nil {
			done++
			break
		}
		failed++
		if summary != nil || !errors.Is(err, syscall.ENOSPC) {
			t.Fatalf("summary %v, error %v", summary, err)
		}
		m, err := study.ReadManifest(out)
		if err != nil {
			claimsNothing(t, out)
			continue
		}
		if m.Name != "earlier" || int64(len(readAll(t, out))) != m.Cases {
			t.Errorf("with %d bytes free there is a manifest of the study %q", spare, m.Name)
		}
	}
	if failed < 3 || done != 1 {
		t.Errorf("%d runs met a full disk, %d did not", failed, done)
	}
	t.Logf("%d runs met a full disk", failed)
}
