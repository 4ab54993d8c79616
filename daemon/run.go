package main

import (
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"os"
	"os/signal"
	"path/filepath"
	"runtime/debug"
	"syscall"
	"time"

	"github.com/coreos/go-systemd/v22/daemon"
	"github.com/jonboulle/clockwork"
	"github.com/sirupsen/logrus"
	"github.com/spf13/cobra"

	"fairwindow/config"
	"fairwindow/daemon/pages"
	"fairwindow/daemon/service"
)

func runCommand() *cobra.Command {
	var state, format, level string
	var noWait bool
	c := &cobra.Command{
		Use:   "run YARD",
		Short: "Run the service for a yard",
		Long: `Runs the daemon until Ctrl-C or TERM. HUP reads the yard file again and keeps
the old one if the new one is bad. Boats in boats.yaml beside the yard file are
taken in the first time, when the store has none; after that the store owns them
(fairwindow boats). Logs go to stderr.

While another process runs on the same state folder this one waits, serves
nothing, and takes over when that one ends or dies.`,
		Example: `  fairwindow run my-yard
  fairwindow run my-yard --state /var/lib/fairwindow --log-format json`,
		Args: exactly("YARD"),
		RunE: func(c *cobra.Command, args []string) error {
			y, err := readYard(args[0])
			if err != nil {
				return err
			}
			if state, err = stateFolder(state, y.Name); err != nil {
				return err
			}
			log, err := newLog(c.ErrOrStderr(), format, level)
			if err != nil {
				return err
			}
			return serve(c.Context(), args[0], y, state, log, !noWait)
		},
	}
	c.Flags().StringVar(&state, "state", "", "folder of the database and the bus; default under the user's state directory")
	c.Flags().BoolVar(&noWait, "no-wait", false, "fail at once if another process has the state folder")
	c.Flags().StringVar(&format, "log-format", "logfmt", "logfmt or json")
	c.Flags().StringVar(&level, "log-level", "info", "debug, info, warning or error")
	return c
}

func serve(ctx context.Context, arg string, y config.Yard, state string, log *logrus.Entry, wait bool) (err error) {
	path := yardPath(arg)
	s, err := openOrWait(ctx, service.Options{
		Yard: y, Folder: filepath.Dir(path), State: state, Clock: clockwork.NewRealClock(), Log: log,
		Reload: func() (config.Yard, error) { return readYard(path) },
	}, wait)
	if err != nil {
		return usageError{err}
	}
	if s == nil {
		return nil // asked to end while it waited
	}
	y = s.Yard()
	defer func() { err = errors.Join(err, closed(s)) }()
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(service.GCPercent)
	}
	if err := firstBoats(ctx, s, y, filepath.Join(filepath.Dir(path), boatsName)); err != nil {
		return err
	}
	web, err := openPages(s, y.Listen, log)
	if err != nil {
		return err
	}
	defer web.stop()
	log.WithFields(logrus.Fields{"pages": web.url, "bus": s.BusURL(), "mqtt": s.MQTTAddr(), "state": state}).Info("ready")

	hup := make(chan os.Signal, 1)
	signal.Notify(hup, syscall.SIGHUP)
	defer signal.Stop(hup)
	go func() {
		for {
			select {
			case <-ctx.Done():
				return
			case <-hup:
				s.Reload(ctx)
			}
		}
	}()
	if _, err := daemon.SdNotify(false, daemon.SdNotifyReady); err != nil {
		log.WithError(err).Warn("systemd was not told that the service is ready")
	}
	return s.Run(ctx)
}

// closed ends a service within the time that a supervisor allows.
func closed(s *service.Service) error {
	ctx, cancel := context.WithTimeout(context.Background(), 15*time.Second)
	defer cancel()
	return s.Close(ctx)
}

// firstBoats takes in the boats beside the yard file if the store has none.
func firstBoats(ctx context.Context, s *service.Service, y config.Yard, path string) error {
	known, err := s.Boats(ctx)
	if err != nil || len(known) > 0 {
		return err
	}
	if _, err := os.Stat(path); err != nil {
		return nil
	}
	boats, err := readBoats(y, path)
	if err != nil {
		return err
	}
	return s.PutBoats(ctx, boats, "the file "+filepath.Base(path))
}

// website is the pages being served.
type website struct {
	url    string
	doors  *service.Doors
	server *http.Server
	hangUp context.CancelFunc // ends the requests under way
	ended  chan struct{}
}

func openPages(s *service.Service, addr string, log *logrus.Entry) (*website, error) {
	intake, err := s.Intake()
	if err != nil {
		return nil, usageError{err}
	}
	doors, err := s.Doors(service.ByClock(clockwork.NewRealClock()))
	if err != nil {
		return nil, usageError{err}
	}
	handler, err := pages.New(pages.Options{
		Plans:   s,
		Air:     s,
		Desk:    s,
		Records: s,
		Trials:  s,
		Ears:    s,
		Bells:   s,
		Door:    doors,
		Book:    s,
		Files:   bookFiles{},
		Waits:   s,
		Studies: s,
		Intake:  intake,
		Boats:   boatsHandler(s),
		Metrics: s.Metrics(),
		Ready:   s.Ready,
		Log:     log.WithField("part", "pages"),
	})
	if err != nil {
		return nil, err
	}
	listener, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, usage("the pages can't be served on %s: %w; set another address, listen: in the yard file or the demo's --listen", addr, unwrapNet(err))
	}
	asked, hangUp := context.WithCancel(context.Background())
	w := &website{
		url: "http://" + listener.Addr().String() + "/", doors: doors,
		server: &http.Server{
			Handler: handler, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute,
			BaseContext: func(net.Listener) context.Context { return asked },
		},
		hangUp: hangUp, ended: make(chan struct{}),
	}
	go func() {
		defer close(w.ended)
		if err := w.server.Serve(listener); err != nil && !errors.Is(err, http.ErrServerClosed) {
			log.WithError(err).Error("the pages stopped")
		}
	}()
	return w, nil
}

func (w *website) stop() {
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Second)
	defer cancel()
	// Who listens for changes is cut off; forms under way do not heed it, and are waited for.
	w.hangUp()
	if w.server.Shutdown(ctx) != nil {
		w.server.Close()
	}
	<-w.ended
}

func unwrapNet(err error) error {
	var op *net.OpError
	if errors.As(err, &op) {
		var sys *os.SyscallError
		if errors.As(op.Err, &sys) {
			return sys.Err
		}
		return op.Err
	}
	return err
}

func newLog(w io.Writer, format, level string) (*logrus.Entry, error) {
	log := logrus.New()
	log.SetOutput(w)
	switch format {
	case "logfmt":
		log.SetFormatter(&logrus.TextFormatter{DisableColors: true, FullTimestamp: true, TimestampFormat: time.RFC3339})
	case "json":
		log.SetFormatter(&logrus.JSONFormatter{TimestampFormat: time.RFC3339})
	default:
		return nil, usage("--log-format: %q is neither logfmt nor json", format)
	}
	l, err := logrus.ParseLevel(level)
	if err != nil {
		return nil, usage("--log-level: %q is none of debug, info, warning and error", level)
	}
	log.SetLevel(l)
	return logrus.NewEntry(log), nil
}
