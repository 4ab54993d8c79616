package bus

import (
	"fmt"
	"io"

	"github.com/sirupsen/logrus"
)

// serverLog turns the server's log lines into ours. What the server calls fatal ends a start,
// never this process.
type serverLog struct {
	log   *logrus.Entry
	fatal chan string
}

func newServerLog(log *logrus.Entry) *serverLog {
	return &serverLog{log: log.WithField("part", "nats-server"), fatal: make(chan string, 1)}
}

// Noticef is the server's own news, which nobody who runs a yard asked for.
func (l *serverLog) Noticef(format string, v ...any) { l.log.Debugf(format, v...) }
func (l *serverLog) Warnf(format string, v ...any)   { l.log.Warnf(format, v...) }
func (l *serverLog) Errorf(format string, v ...any)  { l.log.Errorf(format, v...) }
func (l *serverLog) Debugf(format string, v ...any)  { l.log.Debugf(format, v...) }
func (l *serverLog) Tracef(format string, v ...any)  { l.log.Tracef(format, v...) }

// Fatalf keeps the first line; Start reads it. Later ones are the same trouble.
func (l *serverLog) Fatalf(format string, v ...any) {
	select {
	case l.fatal <- fmt.Sprintf(format, v...):
	default:
	}
}

func silent() *logrus.Entry {
	log := logrus.New()
	log.SetOutput(io.Discard)
	return logrus.NewEntry(log)
}
