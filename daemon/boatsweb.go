package main

import (
	"errors"
	"io"
	"net/http"
	"strings"

	"fairwindow/config/file"
	"fairwindow/daemon/service"
)

// boatsLimit is the longest document of boats that is read, bytes.
const boatsLimit = 4 << 20

// boatsHandler takes boats in (POST, YAML or CSV by the content type) and gives
// them out (GET, ?format=csv).
func boatsHandler(s *service.Service) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodPost {
			takeBoats(w, r, s)
			return
		}
		format := r.URL.Query().Get("format")
		if format == "" {
			format = "yaml"
		}
		boats, err := s.Boats(r.Context())
		if err != nil {
			http.Error(w, "the boats can't be read now", http.StatusInternalServerError)
			return
		}
		text, err := file.WriteBoats(format, boats)
		if err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		w.Write(text)
	})
}

func takeBoats(w http.ResponseWriter, r *http.Request, s *service.Service) {
	text, err := io.ReadAll(http.MaxBytesReader(w, r.Body, boatsLimit))
	if err != nil {
		http.Error(w, "a document of boats of more than 4 MiB is not read: send it in parts", http.StatusRequestEntityTooLarge)
		return
	}
	name := "boats.yaml"
	if strings.Contains(r.Header.Get("Content-Type"), "csv") {
		name = "boats.csv"
	}
	boats, mistakes := file.BoatsFor(s.Yard(), name, text)
	if err := mistakes.Err(); err != nil {
		http.Error(w, err.Error(), http.StatusBadRequest)
		return
	}
	by := r.URL.Query().Get("by")
	if by == "" {
		by = "a program"
	}
	err = s.PutBoats(r.Context(), boats, by)
	var refused interface{ Public() string }
	switch {
	case errors.As(err, &refused):
		http.Error(w, refused.Public(), http.StatusConflict)
	case err != nil:
		http.Error(w, "the boats were not kept; nothing was changed", http.StatusInternalServerError)
	default:
		w.WriteHeader(http.StatusOK)
	}
}
