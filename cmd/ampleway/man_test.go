package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

// TestManual writes the manual, a page a command that is shown, the same each
// time. AMPLEWAY_MANUAL names a folder to keep it in, as .ci/release does.
func TestManual(t *testing.T) {
	dir := t.TempDir()
	if keep := os.Getenv("AMPLEWAY_MANUAL"); keep != "" {
		dir = keep
	}
	first, again := manual(t, dir), manual(t, t.TempDir())
	if diff := cmp.Diff(first, again); diff != "" {
		t.Error(diff)
	}
	var walk func(*cobra.Command)
	walk = func(c *cobra.Command) {
		name := strings.ReplaceAll(c.CommandPath(), " ", "-") + ".1"
		if !strings.Contains(strings.ReplaceAll(first[name], `\-`, "-"), c.Short) {
			t.Errorf("no page for %s", c.CommandPath())
		}
		for _, sub := range c.Commands() {
			if sub.IsAvailableCommand() {
				walk(sub)
			}
		}
	}
	walk(newRoot(func() {}))
}

// manual writes the manual pages into a folder and returns them by name.
func manual(t *testing.T, dir string) map[string]string {
	root := newRoot(func() {})
	// The day of the build would change the pages from day to day.
	root.DisableAutoGenTag = true
	if err := doc.GenManTree(root, &doc.GenManHeader{Section: "1", Source: "ampleway", Manual: "Ampleway"}, dir); err != nil {
		t.Fatal(err)
	}
	pages := map[string]string{}
	names, err := filepath.Glob(filepath.Join(dir, "*.1"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		pages[filepath.Base(name)] = string(text)
	}
	return pages
}

// The shells that cobra knows get completions.
func TestCompletions(t *testing.T) {
	for _, shell := range []string{"bash", "zsh", "fish", "powershell"} {
		if code, out, errOut := ampleway(t, "", "completion", shell); code != exitOK || !strings.Contains(out, "ampleway") {
			t.Errorf("%s: exit code %d: %s", shell, code, errOut)
		}
	}
	if code, out, _ := ampleway(t, "", "__complete", "stations", ""); code != exitOK || !strings.Contains(out, "import") {
		t.Errorf("exit code %d: %s", code, out)
	}
}

// A word that is no command is refused, not answered with help and exit code 0.
func TestUnknownCommand(t *testing.T) {
	for _, args := range [][]string{{"nosuch"}, {"stations", "nosuch"}, {"car", "nosuch"}} {
		if code, out, errOut := ampleway(t, "", args...); code != exitUsage || out != "" || !strings.Contains(errOut, `"nosuch"`) {
			t.Errorf("%v: exit code %d, %q", args, code, errOut)
		}
	}
	if code, out, _ := ampleway(t, "", "stations"); code != exitOK || !strings.Contains(out, "import") {
		t.Errorf("alone: exit code %d: %s", code, out)
	}
}

func TestHelpShowsNoEmptyLists(t *testing.T) {
	for _, command := range [][]string{{"stations", "check"}, {"car", "show"}, {"trip"}} {
		if _, out, _ := ampleway(t, "", append(command, "--help")...); !strings.Contains(out, "-h, --help") || strings.Contains(out, "default []") || strings.Contains(out, "stringArray") {
			t.Errorf("%v --help:\n%s", command, out)
		}
	}
}
