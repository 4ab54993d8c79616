package service

import (
	"path/filepath"
	"testing"

	"fairwindow/daemon/store"
	"fairwindow/notify"
)

// A daemon starts from a backup made while another ran: it knows its boats and plans, and
// what was told before is not told again.
func TestADaemonStartsFromABackup(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 7, 30), good)
	if r.open() != 1 {
		t.Fatal("no window is open")
	}
	file, again := filepath.Join(t.TempDir(), "yard.db"), newRig(t, r.yard)
	if err := store.Backup(t.Context(), r.state, file); err != nil {
		t.Fatal(err)
	}
	r.halt()
	if err := store.Restore(t.Context(), file, again.state); err != nil {
		t.Fatal(err)
	}
	again.clock = r.clock
	again.start()
	again.forecast("a.csv", monday, dry)
	again.measuring(at(0, 7, 50), good)
	if again.open() != 1 {
		t.Error("the window is not open any more")
	}
	again.wantSaid("", notify.WindowOpens)
}
