# A static binary in an empty image, run by nobody in particular; the database and the photos are in the one volume. Nothing else is
# written: start it with a read-only root (docker run --read-only). A proxy in front speaks https.
FROM golang:1.27.3-bookworm AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
RUN CGO_ENABLED=0 go build -trimpath -ldflags "-s -w" -o /swardbook ./server && mkdir /data

FROM scratch
COPY --from=build /etc/ssl/certs/ca-certificates.crt /etc/ssl/certs/
COPY --from=build /swardbook /swardbook
COPY --from=build --chown=65532:65532 /data /data
USER 65532:65532
ENV SWARDBOOK_DATA=/data SWARDBOOK_ADDR=0.0.0.0:8080 SWARDBOOK_TLS=true
VOLUME /data
EXPOSE 8080
HEALTHCHECK --interval=30s --timeout=6s --start-period=60s CMD ["/swardbook", "health"]
ENTRYPOINT ["/swardbook"]
CMD ["serve"]
