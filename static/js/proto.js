// Package-wide constants of the phone side.
export const PROTO = 1;
