package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

// Every command that is shown has a page, the same each time.
func TestManual(t *testing.T) {
	for format, ending := range map[string]string{"man": ".1", "markdown": ".md"} {
		dir := filepath.Join(t.TempDir(), "deep", "manual")
		for range 2 {
			if code, _, errOut := ampleway(t, "", "man", dir, "--format", format); code != exitOK {
				t.Fatalf("exit code %d: %s", code, errOut)
			}
		}
		var walk func(*cobra.Command)
		walk = func(c *cobra.Command) {
			join := "-"
			if format == "markdown" {
				join = "_"
			}
			text, err := os.ReadFile(filepath.Join(dir, strings.ReplaceAll(c.CommandPath(), " ", join)+ending))
			if err != nil || !strings.Contains(strings.ReplaceAll(string(text), `\-`, "-"), c.Short) {
				t.Errorf("no page for %s: %v", c.CommandPath(), err)
			}
			for _, sub := range c.Commands() {
				if sub.IsAvailableCommand() {
					walk(sub)
				}
			}
		}
		walk(newRoot(func() {}))
	}
	if code, _, errOut := ampleway(t, "", "man", t.TempDir(), "--format", "pdf"); code != exitUsage || !strings.Contains(errOut, "pdf") {
		t.Errorf("exit code %d: %s", code, errOut)
	}
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
		if _, out, _ := ampleway(t, "", append(command, "--help")...); !strings.Contains(out, "Flags:") || strings.Contains(out, "default []") {
			t.Errorf("%v --help:\n%s", command, out)
		}
	}
}
