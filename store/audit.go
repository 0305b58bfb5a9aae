package store

import (
	"context"
	"time"
)

// Change is one line of the audit log: who changed what. It is written in the transaction of the change and never altered.
type Change struct {
	Seq    int64
	At     time.Time
	By     string // person id; "" is a command at the server itself
	What   string // such as "person.added"
	About  string // id of what was changed; "" is the firm
	Detail string // in a few words: what it is now
}

// AuditFilter chooses lines of the audit log; an empty field chooses all.
type AuditFilter struct {
	By, What, About string
	Before          int64 // only lines with a smaller Seq; 0 is all
	Limit           int
}

type actorKey struct{}

// WithActor returns a context under which changes are written down as a person's.
func WithActor(ctx context.Context, person string) context.Context {
	return context.WithValue(ctx, actorKey{}, person)
}

// Actor is whose changes are made under ctx; "" is a command at the server itself.
func Actor(ctx context.Context) string {
	id, _ := ctx.Value(actorKey{}).(string)
	return id
}
