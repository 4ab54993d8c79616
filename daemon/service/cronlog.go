package service

import "github.com/sirupsen/logrus"

// cronLog lets the job scheduler write to our log.
type cronLog struct{ log *logrus.Entry }

func (l cronLog) Debug(msg string, args ...any) { l.log.Debug(append([]any{msg, " "}, args...)...) }
func (l cronLog) Info(msg string, args ...any)  { l.log.Debug(append([]any{msg, " "}, args...)...) }
func (l cronLog) Warn(msg string, args ...any)  { l.log.Warn(append([]any{msg, " "}, args...)...) }
func (l cronLog) Error(msg string, args ...any) { l.log.Error(append([]any{msg, " "}, args...)...) }
