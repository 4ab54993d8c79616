package pages

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"

	"fairwindow/planner"
)

// alive says that the program answers at all.
func (p *pages) alive(w http.ResponseWriter, _ *http.Request) {
	plain(w, http.StatusOK, "alive")
}

// ready says that it can do its work; why not is in the log.
func (p *pages) ready(w http.ResponseWriter, r *http.Request) {
	if err := p.Ready(r.Context()); err != nil {
		p.Log.WithError(err).Warn("pages: not ready")
		plain(w, http.StatusServiceUnavailable, "not ready, the log says why")
		return
	}
	plain(w, http.StatusOK, "ready")
}

func plain(w http.ResponseWriter, status int, words string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(status)
	fmt.Fprintln(w, words)
}

// numbered is a plan with its number, as GET /v1/plan and /v1/draft give it.
type numbered struct {
	Number int64        `json:"number"`
	Plan   planner.Plan `json:"plan"`
}

// json serves a plan; a yard that has none yet is a 404.
func (p *pages) json(plan func(context.Context) (planner.Plan, int64, error)) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		answer := func(status int, body any) {
			text, err := json.Marshal(body)
			if err != nil {
				p.Log.WithError(err).WithField("path", r.URL.Path).Error("pages: a plan cannot be written")
				status, text = http.StatusInternalServerError, []byte(`{"error":"the plan cannot be written, the log says why"}`)
			}
			w.Header().Set("Content-Type", "application/json")
			w.WriteHeader(status)
			_, _ = w.Write(append(text, '\n')) // the reader may be gone
		}
		type fault struct {
			Error string `json:"error"`
		}
		found, number, err := plan(r.Context())
		switch {
		case err != nil:
			p.Log.WithError(err).WithField("path", r.URL.Path).Error("pages: a plan cannot be read")
			answer(http.StatusInternalServerError, fault{"the plan cannot be read, the log says why"})
		case number == 0:
			answer(http.StatusNotFound, fault{"there is no such plan yet"})
		default:
			answer(http.StatusOK, numbered{number, found})
		}
	})
}
