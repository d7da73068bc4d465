package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A file that cannot be opened is bad input wherever it is named: exit 2, its
// name and the reason, and no word of the program's inside. The reason is the
// system's for a name under a file (ENOTDIR) and for one without permission
// (EACCES), which only the superuser does not meet.
func TestFilesThatCannotBeOpened(t *testing.T) {
	plain := tempFile(t, "plain", "x")
	names := map[string]string{filepath.Join(plain, "x"): "not a directory"}
	if os.Getuid() != 0 {
		locked := tempFile(t, "locked", "x")
		must(t, os.Chmod(locked, 0))
		names[locked] = "permission denied"
	}
	router := []string{"trip", "--from", "10,50", "--to", "11,50", "--stations", "demo", "--router", "cat {from.lonlat} {to.lonlat}", "--places"}
	for name, reason := range names {
		for _, args := range [][]string{
			{"trip", "--stations"}, {"trip", "--stations", "demo", "--route"}, {"trip", "--car"}, {"trip", "--heights"}, {"trip", "--status"}, router,
			{"year", "--households"}, {"year", "--tariffs"}, {"year", "--climate"}, {"year", "--stations"},
			{"margins"}, {"margins", "join", "-o", t.TempDir()}, {"margins", "compare", t.TempDir()},
			{"stations", "check"}, {"stations", "check", plain, "--map"}, {"stations", "near", "--route"}, {"stations", "import", "-o", filepath.Join(t.TempDir(), "s.parquet")},
			{"car", "show"}, {"car", "fit"}, {"serve", "--addr", "127.0.0.1:0", "--stations"},
		} {
			code, out, errOut := ampleway(t, "", append(args, name)...)
			if code != exitUsage || out != "" || strings.Count(errOut, "\n") != 1 {
				t.Errorf("%v: exit %d, %q%q", args, code, out, errOut)
			}
			if args[0] == "margins" && len(args) > 1 {
				continue // a folder of results, of which another file is opened
			}
			if !strings.HasPrefix(errOut, "ampleway: "+name) || !strings.HasSuffix(errOut, ": "+reason+"\n") || strings.Contains(errOut, "open ") {
				t.Errorf("%v: %q", args, errOut)
			}
		}
	}
	for _, args := range [][]string{{"margins", "join", "part"}, {"stations", "import", plain}} {
		if code, _, errOut := ampleway(t, "", args...); code != exitUsage || !strings.HasPrefix(errOut, "ampleway: --output is missing: expected ") {
			t.Errorf("%v: exit %d, %s", args, code, errOut)
		}
	}
}
