// Package testdata finds what tests check against: open data beside the
// checkout, tools of other projects, and the size of the run.
package testdata

import (
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"
)

// Root returns the repository's top folder.
func Root() string {
	_, file, _, _ := runtime.Caller(0)
	return filepath.Dir(filepath.Dir(file))
}

// Path joins name to the repository's testdata folder.
func Path(name ...string) string {
	return filepath.Join(append([]string{Root(), "testdata"}, name...)...)
}

// OpenData returns the path of a file or folder of the open data that lies
// beside the checkout, or in the folder named by AMPLEWAY_OPEN_DATA, and
// skips the test where it is absent.
func OpenData(t testing.TB, name ...string) string {
	t.Helper()
	base := os.Getenv("AMPLEWAY_OPEN_DATA")
	if base == "" {
		base = filepath.Join(Root(), "..", "shared", "data")
	}
	path := filepath.Join(append([]string{base}, name...)...)
	if _, err := os.Stat(path); err != nil {
		t.Skipf("skipped: open data %s is not here (set AMPLEWAY_OPEN_DATA)", filepath.Join(name...))
	}
	return path
}

// Tool returns the path of a program on PATH. Where it is absent the test is
// skipped, or fails when AMPLEWAY_CI is set.
func Tool(t testing.TB, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		absent(t, "the program "+name)
	}
	return path
}

// Sequential skips a long test under the race detector, ten times slower, where
// nothing that it does is done at once with anything else.
func Sequential(t testing.TB) {
	t.Helper()
	if Raced {
		t.Skip("skipped: nothing here runs at once with anything else")
	}
}

// NodeModules returns the folder with the npm packages that tests compare
// with. Where it is absent the test is skipped, or fails when AMPLEWAY_CI is
// set.
func NodeModules(t testing.TB) string {
	t.Helper()
	Tool(t, "node")
	path := filepath.Join(Root(), ".ci", "node_modules")
	if _, err := os.Stat(path); err != nil {
		absent(t, "the folder .ci/node_modules (npm ci --prefix .ci)")
	}
	return path
}

// Slow reports whether the long proofs were asked for (AMPLEWAY_SLOW=1).
func Slow() bool { return os.Getenv("AMPLEWAY_SLOW") != "" }

func absent(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("AMPLEWAY_CI") != "" {
		t.Fatalf("%s is needed and absent", what)
	}
	t.Skipf("skipped: %s is absent", what)
}
