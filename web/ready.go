package web

import (
	"net/http"

	"swardbook/store"
	"swardbook/web/route"
)

// safety are the routes of getting in, being seen and being watched.
func (s *server) safety() []route.Route {
	return []route.Route{
		{Method: "GET", Pattern: "/readyz", Audience: route.Anyone, Handler: s.readiness},
	}
}

// ownerRoutes are the owner's pages about the house itself.
func ownerRoutes(d Deps) []route.Route {
	return nil
}

// readiness says that requests may be sent here: the database answers, takes writes, and the program is not about to end.
func (s *server) readiness(w http.ResponseWriter, r *http.Request) error {
	if s.ready != nil {
		if err := s.ready(r.Context()); err != nil {
			return &store.Error{Kind: store.Busy, Say: "Not ready now.", Err: err}
		}
	}
	if _, err := s.db.Empty(r.Context()); err != nil {
		return &store.Error{Kind: store.Busy, Say: "Not ready now.", Err: err}
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	_, err := w.Write([]byte("ready\n"))
	return err
}
