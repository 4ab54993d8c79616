package main

import (
	"bytes"
	"errors"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fairwindow/config"
	"fairwindow/daemon/service"
)

// errNoDaemon says that no daemon of this yard answers.
var errNoDaemon = errors.New("no daemon of this yard answers")

// askDaemon posts to the yard's running daemon, as whoever may read its state folder.
func askDaemon(y config.Yard, state, path, kind string, body []byte) (status int, said []byte, err error) {
	request, err := http.NewRequest(http.MethodPost, "http://"+reached(y.Listen)+path, bytes.NewReader(body))
	if err != nil {
		return 0, nil, err
	}
	request.Header.Set("Content-Type", kind)
	if state, err = stateFolder(state, y.Name); err != nil {
		return 0, nil, err
	}
	if key, err := os.ReadFile(filepath.Join(state, service.DoorFile)); err == nil {
		request.Header.Set("Authorization", "Bearer "+strings.TrimSpace(string(key)))
	}
	client := http.Client{Timeout: time.Minute} // a daemon on a busy machine is one all the same
	answer, err := client.Do(request)
	if err != nil {
		return 0, nil, errNoDaemon
	}
	defer answer.Body.Close()
	said, err = io.ReadAll(io.LimitReader(answer.Body, 1<<20))
	return answer.StatusCode, said, err
}

// reached is where this machine reaches a daemon that listens on an address: one that listens
// everywhere listens here too.
func reached(listen string) string {
	host, port, err := net.SplitHostPort(listen)
	if ip := net.ParseIP(host); err == nil && (host == "" || ip != nil && ip.IsUnspecified()) {
		return net.JoinHostPort("127.0.0.1", port)
	}
	return listen
}
