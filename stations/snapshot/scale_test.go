package snapshot_test

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"ampleway/stations/synthetic"
	"ampleway/testdata"
)

// scaleSites is the size of the scale proof; the short run is a tenth.
func scaleSites() int {
	if testdata.Slow() {
		return 1_000_000
	}
	return 100_000
}

const aloneEnv = "AMPLEWAY_LOAD_ALONE"

// TestLoadStaysSmall loads a snapshot in a process of its own and looks at
// the most memory that process ever had: at most 400 MB for 1,000,000 sites,
// and for fewer the same a site on top of 60 MB. Times are told, not judged:
// they are the machine's as much as ours.
func TestLoadStaysSmall(t *testing.T) {
	if testing.Short() {
		t.Skip("skipped: short runs, such as those under the race detector, measure nothing")
	}
	if path := os.Getenv(aloneEnv); path != "" {
		loadAlone(t, path)
		return
	}
	n := scaleSites()
	path := filepath.Join(t.TempDir(), "scale.parquet")
	if err := os.WriteFile(path, write(t, synthetic.Sites(n, 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	command := exec.Command(os.Args[0], "-test.run=^TestLoadStaysSmall$", "-test.v")
	command.Env = append(os.Environ(), aloneEnv+"="+path)
	out, err := command.CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	var loadMS, cpuMS, peakKB int
	_, numbers, found := strings.Cut(string(out), "alone: ")
	if _, err := fmt.Sscanf(numbers, "%d ms %d ms %d kB", &loadMS, &cpuMS, &peakKB); err != nil || !found {
		t.Fatalf("the other process said %q", out)
	}
	info, _ := os.Stat(path)
	t.Logf("%d sites: file %.1f MB, snapshot to ready index %d ms (%d ms of processor time on all cores), peak memory of the process %.0f MB", n, float64(info.Size())/1e6, loadMS, cpuMS, float64(peakKB)*1.024e-3)
	if limitKB := 60_000 + n*340/1000; peakKB > limitKB {
		t.Errorf("the process had %d kB, at most %d kB are allowed", peakKB, limitKB)
	}
}

func loadAlone(t *testing.T, path string) {
	var before, after syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &before)
	start := time.Now()
	table, err := load(path)
	took := time.Since(start)
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &after)
	cpuMS := (after.Utime.Nano() + after.Stime.Nano() - before.Utime.Nano() - before.Stime.Nano()) / 1e6
	if err != nil {
		t.Fatal(err)
	}
	fmt.Printf("alone: %d ms %d ms %d kB\n", took.Milliseconds(), cpuMS, peakKB(t))
	if table.Index().Len() != table.Len() {
		t.Fatal("the index is not over the table")
	}
}

// peakKB reads the most memory this process has had (Linux, proc(5), VmHWM).
func peakKB(t *testing.T) int {
	file, err := os.Open("/proc/self/status")
	if err != nil {
		t.Skipf("skipped: no /proc here: %v", err)
	}
	defer file.Close()
	for lines := bufio.NewScanner(file); lines.Scan(); {
		if rest, ok := strings.CutPrefix(lines.Text(), "VmHWM:"); ok {
			n, _ := strconv.Atoi(strings.Fields(rest)[0])
			return n
		}
	}
	t.Skip("skipped: /proc tells no peak memory")
	return 0
}
