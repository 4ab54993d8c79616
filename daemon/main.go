// Command fairwindow plans a boat-refinishing yard's work by weather, hull and
// cure, and tells people when a window opens, is about to close, or closes.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // a yard's zone must not depend on what the machine has installed

	"github.com/spf13/cobra"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

// Exit codes.
const (
	exitYes   = 0
	exitNo    = 1
	exitUsage = 2
)

// errNo ends a command whose answer is no. It has been printed already.
var errNo = errors.New("no")

// usageError is a mistake in how a command was called, or in what it was given.
type usageError struct{ error }

func (e usageError) Unwrap() error { return e.error }

func usage(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// run is the program without the process: arguments in, exit code out.
func run(args []string, out, talk io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	root := commands()
	root.SetArgs(args)
	told := &answer{to: out}
	root.SetOut(told)
	root.SetErr(talk)
	err := root.ExecuteContext(ctx)
	switch {
	case told.failed != nil:
		fmt.Fprintln(talk, "fairwindow: the answer was not printed whole:", plain(told.failed))
		return exitUsage
	case err == nil:
		return exitYes
	case errors.Is(err, errNo):
		return exitNo
	default:
		fmt.Fprintln(talk, "fairwindow:", err)
		return exitUsage
	}
}

// answer is where a command's answer goes. It keeps the first failure: a table that a full
// disk cut short must not end as if it were whole, whatever the command made of it.
type answer struct {
	to     io.Writer
	failed error
}

func (a *answer) Write(text []byte) (int, error) {
	n, err := a.to.Write(text)
	if a.failed == nil {
		a.failed = err
	}
	return n, err
}

func commands() *cobra.Command {
	root := &cobra.Command{
		Use:   "fairwindow",
		Short: "Plans a boat-refinishing yard by weather, hull and cure, and tells people when a window opens",
		Long: `fairwindow reads booth and hull sensors and forecasts, works out when each stage
of each boat may be done, plans when it will be done, and tells people.

It advises. The coating maker's instructions, the site's rules, local codes and
licensed practice decide.

Exit codes: 0 yes or done, 1 no, 2 wrong use or wrong input.`,
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.CompletionOptions.HiddenDefaultCmd = true
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return usage("%w; see %s --help", err, c.CommandPath())
	})
	root.AddCommand(
		demoCommand(), initCommand(), checkCommand(), runCommand(), boatsCommand(), inviteCommand(), tokenCommand(),
		planCommand(), whyCommand(), waitsCommand(), whatifCommand(), sourcesCommand(), listenCommand(), askCommand(),
		airCommand(), hullCommand(), cureCommand(), mixCommand(), boothCommand(), recordCommand(), verifyCommand(), backupCommand(), restoreCommand(), versionCommand(),
	)
	return root
}
