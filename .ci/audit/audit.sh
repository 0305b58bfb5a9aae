#!/bin/sh
# Lighthouse on the day sheet and the zone form of the invented firm, as a crew member who has just signed in on a new phone; fails below
# 95. Phones reach an office by https, and so does this. RUNS=5 takes each page five times; the median of each score counts. Where it may,
# it goes before everything else on the machine: what is counted is how long the browser is busy, and a busy neighbour would count too.
set -eu
cd "$(dirname "$0")/../.."
sh .ci/setup audit
first=
chrt -r 1 true 2>/dev/null && first="chrt -r 1"
work=$(mktemp -d)
trap 'kill "$office" 2>/dev/null || true; rm -rf "$work"' EXIT
go build -o "$work/swardbook" ./server
openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -nodes -days 2 -subj /CN=localhost -addext subjectAltName=DNS:localhost \
	-keyout "$work/key.pem" -out "$work/cert.pem" 2>/dev/null
at=https://localhost:8797
$first "$work/swardbook" -demo -quiet -addr localhost:8797 -cert "$work/cert.pem" -key "$work/key.pem" -data "$work/data" &
office=$!
ask() { curl -s --cacert "$work/cert.pem" "$@"; }
for _ in $(seq 50); do ask -f "$at/healthz" >/dev/null && break; sleep 0.2; done
cookie=$(ask -o /dev/null -D - --data-urlencode "name=Jonah" --data-urlencode "passcode=meadow-walk-3" --data-urlencode "next=/field/" "$at/sign-in" | sed -n 's/^[Ss]et-[Cc]ookie: \([^;]*\).*/\1/p')
visit=$(ask -H "Cookie: $cookie" "$at/api/v1/pack" | sed -n 's/.*"visits":\[{"id":"\([^"]*\)".*/\1/p')
zone=$(ask -H "Cookie: $cookie" "$at/api/v1/pack" | sed -n 's/.*"zones":\[{"id":"\([^"]*\)".*/\1/p')
printf '{"Cookie": "%s"}' "$cookie" >"$work/headers.json"
export CHROME_PATH="${CHROME_PATH:-$(command -v chromium)}"
low=0
for page in "/field/" "/field/zone?visit=$visit&zone=$zone"; do
	for run in $(seq "${RUNS:-1}"); do
		for try in 1 2 3 4; do # now and then the browser hands out a trace that lacks its beginning
			[ "$try" -lt 4 ] || exit 1
			$first .ci/audit/node_modules/.bin/lighthouse "$at$page" --quiet --output=json --output-path="$work/report.$run.json" --no-enable-error-reporting \
				--extra-headers="$work/headers.json" --only-categories=performance,accessibility,best-practices \
				--chrome-flags="--ignore-certificate-errors --headless=new --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking --disable-component-update" && break
		done
	done
	node .ci/audit/score.mjs "${page%%\?*}" "$work"/report.*.json || low=1
	rm "$work"/report.*.json
done
exit $low
