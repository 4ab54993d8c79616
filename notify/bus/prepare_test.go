package bus

import (
	"path/filepath"
	"testing"
)

// However often the daemon is started, what the server keeps for its own start does not grow.
func TestStartsLeaveNothingBehind(t *testing.T) {
	t.Parallel()
	ctx := within(t)
	dir := t.TempDir()
	for range 5 {
		b := open(t, ctx, Options{StoreDir: filepath.Join(dir, "bus"), MQTTAddr: "127.0.0.1:0"})
		device(t, b.MQTTAddr(), "", "").Disconnect(0)
		stream, err := b.js.Stream(ctx, retainedStream)
		if err != nil {
			t.Fatal(err)
		}
		if n := stream.CachedInfo().State.Consumers; n > 2 {
			t.Errorf("%d consumers of what is retained", n) // the first start has one of its preparation too
		}
		if err := b.Close(ctx); err != nil {
			t.Fatal(err)
		}
	}
}
