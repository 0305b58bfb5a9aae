#!/bin/sh
# Lighthouse on the day sheet and the zone form of the invented firm, as a signed-in crew member; fails below 95.
set -eu
cd "$(dirname "$0")/../.."
sh .ci/setup audit
work=$(mktemp -d)
trap 'kill "$office" 2>/dev/null || true; rm -rf "$work"' EXIT
go build -o "$work/swardbook" ./server
addr=127.0.0.1:8797
"$work/swardbook" -demo -quiet -addr "$addr" -data "$work/data" &
office=$!
for _ in $(seq 50); do curl -sf "http://$addr/healthz" >/dev/null && break; sleep 0.2; done
cookie=$(curl -s -o /dev/null -D - --data-urlencode "name=Jonah" --data-urlencode "passcode=meadow-walk-3" --data-urlencode "next=/field/" "http://$addr/sign-in" | sed -n 's/^[Ss]et-[Cc]ookie: \([^;]*\).*/\1/p')
visit=$(curl -s -H "Cookie: $cookie" "http://$addr/api/v1/pack" | sed -n 's/.*"visits":\[{"id":"\([^"]*\)".*/\1/p')
zone=$(curl -s -H "Cookie: $cookie" "http://$addr/api/v1/pack" | sed -n 's/.*"zones":\[{"id":"\([^"]*\)".*/\1/p')
printf '{"Cookie": "%s"}' "$cookie" >"$work/headers.json"
export CHROME_PATH="${CHROME_PATH:-$(command -v chromium)}"
low=0
for page in "/field/" "/field/zone?visit=$visit&zone=$zone"; do
	.ci/audit/node_modules/.bin/lighthouse "http://$addr$page" --quiet --output=json --output-path="$work/report.json" --no-enable-error-reporting \
		--extra-headers="$work/headers.json" --only-categories=performance,accessibility,best-practices \
		--chrome-flags="--headless=new --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking --disable-component-update"
	node -e '
const r = JSON.parse(require("fs").readFileSync(process.argv[1], "utf8"));
let low = false;
for (const c of Object.values(r.categories)) { const n = Math.round(c.score * 100); console.log(`${process.argv[2]}  ${c.title}: ${n}`); low ||= n < 95; }
for (const a of Object.values(r.audits)) if (a.score !== null && a.score < 0.9 && a.scoreDisplayMode !== "informative") console.log("  " + a.id + ": " + (a.displayValue ?? a.title));
process.exitCode = low ? 1 : 0;' "$work/report.json" "${page%%\?*}" || low=1
done
exit $low
