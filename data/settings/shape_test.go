package settings_test

import (
	"errors"
	"runtime"
	"strings"
	"testing"
	"time"

	"ampleway/data/fault"
	"ampleway/data/settings"
)

// allocated is how many bytes work takes from the heap in all, freed again or
// not: an upper bound of what is held at once.
func allocated(work func()) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	work()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// Nesting of hundreds of thousands of levels is refused at once, in every way
// that YAML can nest, hidden or not.
func TestNestingIsRefused(t *testing.T) {
	const most = 50 << 20
	n := settings.MostBytes
	for _, text := range []string{
		strings.Repeat("[", n),
		strings.Repeat("{", n),
		strings.Repeat("{a: ", n/4),
		strings.Repeat("- ", n/2),
		strings.Repeat("? ", n/2),
		strings.Repeat("-\t", n/2),
		strings.Repeat(`[ "]", `, n/7),
		strings.Repeat("[ ']', ", n/7),
		strings.Repeat("[ # ]\n", n/6),
		strings.Repeat("[", n/2) + strings.Repeat("]", n/2),
		"a: " + strings.Repeat("&a [", n/4-3),
		strings.Repeat(`{"a":`, n/6) + strings.Repeat("}", n/6),
	} {
		var err error
		used := allocated(func() { err = settings.Decode([]byte(text), "f.yaml", "a house", &file{}) })
		var in *fault.Input
		if !errors.As(err, &in) || !strings.Contains(in.Found, "nested too deeply") || in.Where == "" {
			t.Errorf("%.20q: %.200v", text, err)
		}
		if used > most {
			t.Errorf("%.20q takes %d MB", text, used>>20)
		}
	}
}

// What nests as deep as people write is read, brackets in quotes included.
func TestNestingThatIsRead(t *testing.T) {
	for _, text := range []string{
		`{"name": "` + strings.Repeat("[", 500) + `", "taper": [1, 2]}`,
		"name: " + `"` + strings.Repeat("[{", 400) + `"` + "\n",
		"taper: [" + strings.Repeat("1, ", 5000) + "1]\n",
		strings.Repeat("# [] and {}\n", 100) + "taper: [1]\n",
		"taper:\n" + strings.Repeat("  - 1\n", 5000),
	} {
		if err := settings.Decode([]byte(text), "f.yaml", "a house", &file{}); err != nil {
			t.Errorf("%.30q: %v", text, err)
		}
	}
}

// Time and memory do not grow with the square of a line's length, nor of the
// number of entries, whatever is wrong with them.
func TestLongLinesAreToldInShort(t *testing.T) {
	const half = settings.MostBytes / 2
	for _, piece := range []string{"! ", "&a ", "*a ", ": ", "a: ", `"`, "%", "<<: ", "a,", "!!x "} {
		text := strings.Repeat(piece, half/8/len(piece))
		start := time.Now()
		var err error
		used := allocated(func() { err = settings.Decode([]byte(text), "f.yaml", "a house", &file{}) })
		if err == nil || len(err.Error()) > 4000 {
			t.Errorf("%q: %.100v", piece, err)
		}
		if took := time.Since(start); used > 100<<20 || took > 10*time.Second {
			t.Errorf("%q: %d MB, %s", piece, used>>20, took)
		}
	}
	err := settings.Decode([]byte(strings.Repeat("-\n", half)), "f.yaml", "a house", &file{})
	if err == nil || !strings.Contains(err.Error(), "empty entries") {
		t.Errorf("%.100v", err)
	}
}
