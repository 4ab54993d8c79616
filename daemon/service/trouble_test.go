package service

import (
	"errors"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"fairwindow/daemon/store"
)

// The disk fills up: senders are told that nothing was taken in, the pages and the
// health say why, nothing acknowledged is lost, and it goes on by itself once there is
// room. On a disk of a few megabytes, where this test may make one.
func TestTheDiskIsFull(t *testing.T) {
	disk := t.TempDir()
	if err := unix.Mount("tmpfs", disk, "tmpfs", 0, "size=6m"); err != nil {
		t.Skipf("no small disk can be made here: %v", err)
	}
	t.Cleanup(func() {
		if err := unix.Unmount(disk, unix.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	r := newRig(t, yardText)
	t.Cleanup(r.halt) // before the disk goes
	r.state = disk
	if err := os.Symlink(t.TempDir(), filepath.Join(disk, "bus")); err != nil {
		t.Fatal(err)
	}
	r.start()
	r.enter(boatText("two coats"))
	r.settle()
	acknowledged, sent := []string{}, 0
	send := func() int {
		var entries []string
		var stamps []string
		for range 50 {
			sent++
			stamps = append(stamps, monday.Add(time.Duration(sent)*time.Millisecond).Format(time.RFC3339Nano))
			entries = append(entries, fmt.Sprintf(`{"source": "air", "time": %q, "values": {"air": 20, "humidity": 40, "surface": %d.5}}`, stamps[len(stamps)-1], 15+sent%3))
		}
		code, _ := r.send("[" + strings.Join(entries, ",") + "]")
		if code == http.StatusAccepted {
			acknowledged = append(acknowledged, stamps...)
		}
		return code
	}
	if code := send(); code != http.StatusAccepted {
		t.Fatal(code)
	}
	ballast := filepath.Join(disk, "ballast")
	file, err := os.Create(ballast)
	if err != nil {
		t.Fatal(err)
	}
	for chunk := make([]byte, 4096); err == nil; {
		_, err = file.Write(chunk)
	}
	if !errors.Is(err, unix.ENOSPC) {
		t.Fatal(err)
	}
	if err := file.Close(); err != nil {
		t.Fatal(err)
	}
	refused := false
	for range 400 { // the journal's own room holds some more
		if refused = send() == http.StatusServiceUnavailable; refused {
			break
		}
	}
	if !refused {
		t.Fatal("a full disk took everything")
	}
	r.healthSays("is full: free some room")
	if err := r.svc.Ready(t.Context()); err == nil || !strings.Contains(err.Error(), "is full") {
		t.Errorf("ready: %v", err)
	}
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	if code := send(); code != http.StatusAccepted {
		t.Fatalf("with room again: %d", code)
	}
	lines, err := r.svc.Health(t.Context())
	if err != nil || slices.ContainsFunc(lines, func(l string) bool { return strings.Contains(l, "full") }) {
		t.Errorf("health still says %q, %v", lines, err)
	}
	r.restart()
	kept, err := r.svc.store.Readings(t.Context(), store.Query{From: monday})
	if err != nil {
		t.Fatal(err)
	}
	there := map[string]bool{}
	for _, k := range kept {
		there[k.At.Format(time.RFC3339Nano)] = true
	}
	for _, stamp := range acknowledged {
		if !there[stamp] {
			t.Fatalf("the reading of %s was acknowledged and is lost", stamp)
		}
	}
}
