package main

import (
	"runtime/debug"
	"strings"
	"testing"
)

func TestVersion(t *testing.T) {
	code, out, _ := ampleway(t, "", "version")
	if code != exitOK || !strings.HasPrefix(out, "ampleway ") {
		t.Errorf("exit %d, %q", code, out)
	}
	stamped := &debug.BuildInfo{Main: debug.Module{Version: "v1.2.3"}, Settings: []debug.BuildSetting{{Key: "vcs.revision", Value: "abc"}, {Key: "vcs.modified", Value: "true"}}}
	if text := versionText(stamped, true); !strings.Contains(text, "v1.2.3, commit abc, changed") {
		t.Errorf("%q", text)
	}
	if text := versionText(nil, false); !strings.Contains(text, "unreleased, commit not recorded") {
		t.Errorf("%q", text)
	}
}

// What is built in is named with its licence, its authors and the whole text.
func TestLicences(t *testing.T) {
	code, out, _ := ampleway(t, "", "version", "--licences")
	if code != exitOK {
		t.Fatalf("exit %d", code)
	}
	for _, want := range []string{
		"\nGo standard library\n  BSD-3-Clause (text 2, 3)\n  Copyright 2009 The Go Authors.\n",
		"TERMS AND CONDITIONS FOR USE, REPRODUCTION, AND DISTRIBUTION",
		"THE SOFTWARE IS PROVIDED \"AS IS\", WITHOUT WARRANTY OF ANY KIND",
		"THIS SOFTWARE IS PROVIDED BY THE COPYRIGHT HOLDERS AND CONTRIBUTORS",
	} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is not there", want)
		}
	}
	for _, name := range []string{"github.com/spf13/cobra", "github.com/inconshreveable/mousetrap", "google.golang.org/protobuf"} {
		if strings.Count(out, "\n"+name+" v") != 1 {
			t.Errorf("%s is there %d times", name, strings.Count(out, "\n"+name+" v"))
		}
	}
}
