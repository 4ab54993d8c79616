package main

import (
	"context"
	"errors"
	"time"

	"github.com/coreos/go-systemd/v22/daemon"
	"github.com/sirupsen/logrus"

	"fairwindow/daemon/service"
	"fairwindow/daemon/store"
	"fairwindow/notify/bus"
)

// tryEach is how often a waiting process asks whether the state folder is free. With
// a start of about a second, the yard is never without a daemon for ten.
const tryEach = 250 * time.Millisecond

// openOrWait opens the service. While another process has its state folder it waits, if
// it may, and holds no port, file or lock meanwhile. It returns nil and no error when
// ctx ended first.
func openOrWait(ctx context.Context, o service.Options, wait bool) (*service.Service, error) {
	s, err := service.New(ctx, o)
	if !wait || !inUse(err) {
		return s, err
	}
	began := time.Now() // for the log only
	o.Log.WithFields(logrus.Fields{"state": o.State, "process": holder(err)}).
		Info("waiting: another process runs on this state folder; this one takes over when that one ends")
	// A supervisor's patience is for starts, not for standing by.
	if _, err := daemon.SdNotify(false, daemon.SdNotifyReady+"\nSTATUS=waiting for the process that has the state folder"); err != nil {
		o.Log.WithError(err).Warn("systemd was not told that this process waits")
	}
	tick := time.NewTicker(tryEach)
	defer tick.Stop()
	for inUse(err) {
		select {
		case <-ctx.Done():
			o.Log.Info("asked to end while it waited; it had begun nothing")
			return nil, nil
		case <-tick.C:
		}
		s, err = service.New(ctx, o)
	}
	if err != nil {
		return nil, err
	}
	o.Log.WithField("waited", time.Since(began).Round(time.Millisecond).String()).Info("took over: the other process has let go of the state folder")
	if _, err := daemon.SdNotify(false, "STATUS=running"); err != nil {
		o.Log.WithError(err).Warn("systemd was not told that this process took over")
	}
	// The yard file may have been edited for the other process meanwhile. A bad one is
	// logged and shown on the pages, and the one that was read at the start counts.
	_ = s.Reload(ctx)
	return s, nil
}

// inUse reports whether another process has the store or, ending, still the bus.
func inUse(err error) bool {
	var taken *store.InUseError
	return errors.As(err, &taken) || errors.Is(err, bus.ErrInUse)
}

// holder is the id of the process that has the store.
func holder(err error) string {
	var taken *store.InUseError
	if errors.As(err, &taken) {
		return taken.Process
	}
	return "unknown"
}
