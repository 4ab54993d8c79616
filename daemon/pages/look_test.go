package pages

import (
	"net/http"
	"os"
	"testing"
)

// TestLook serves the invented yard for a person to look at:
// FAIRWINDOW_LOOK=127.0.0.1:8099 go test -run TestLook ./daemon/pages
func TestLook(t *testing.T) {
	address := os.Getenv("FAIRWINDOW_LOOK")
	if address == "" {
		t.Skip("set FAIRWINDOW_LOOK to an address to look at the pages in a browser")
	}
	t.Fatal(http.ListenAndServe(address, handlerOf(t, newFake())))
}
