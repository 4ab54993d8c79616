package bus

import (
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"syscall"
	"testing"
)

// A child that is just being started holds copies of this process's files for a moment. A folder
// that was freed is free all the same.
func TestFreedFolderIsFreeThoughAChildHoldsTheFile(t *testing.T) {
	dir := t.TempDir()
	unlock, err := lock(dir)
	if err != nil {
		t.Fatal(err)
	}
	open, err := os.ReadDir("/proc/self/fd")
	if err != nil {
		t.Skip("this system does not list its open files: ", err)
	}
	held := slices.IndexFunc(open, func(fd os.DirEntry) bool {
		name, _ := os.Readlink(filepath.Join("/proc/self/fd", fd.Name()))
		return name == filepath.Join(dir, "lock")
	})
	if held < 0 {
		t.Fatal("the lock is not among the open files")
	}
	fd, err := strconv.Atoi(open[held].Name())
	if err != nil {
		t.Fatal(err)
	}
	kept, err := syscall.Dup(fd)
	if err != nil {
		t.Fatal(err)
	}
	defer syscall.Close(kept)
	if err := unlock(); err != nil {
		t.Fatal(err)
	}
	again, err := lock(dir)
	if err != nil {
		t.Fatal(err)
	}
	again()
}
