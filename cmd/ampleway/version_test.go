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
