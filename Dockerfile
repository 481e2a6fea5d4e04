# The monitor in a container: not root, no shell needed at run time, works with a read-only root file system and one
# volume for what it writes (/data).
#
#   docker build -t lastwrap .
#   docker run --read-only --cap-drop ALL --security-opt no-new-privileges --tmpfs /tmp \
#     -v lastwrap-data:/data -v ./press.yaml:/etc/lastwrap/press.yaml:ro -e LASTWRAP_CONFIG=/etc/lastwrap/press.yaml \
#     -e LASTWRAP_PLC_PASSWORD -p 8420:8420 --name lastwrap lastwrap
#
# LASTWRAP_PLC_PASSWORD is the config's password_env, handed on from the shell. A server's certificate is trusted by
# "docker exec lastwrap mv …" with the two paths that the log names.
#
# To be seen from outside the container the config needs `web: { listen: 0.0.0.0:8420, without_sign_in: look }`. The log of the first
# start holds the link that makes the first engineer.

# The dashboard is built with the development tools, which have parts per platform among the optional packages.
FROM node:24-bookworm-slim AS build
WORKDIR /app
COPY package.json package-lock.json .npmrc ./
RUN npm ci --ignore-scripts
COPY edge edge
COPY dashboard dashboard
RUN npm run build

# What runs: no development tools, and no Node from npm, for this image is Node 24 already.
FROM node:24-bookworm-slim AS dependencies
WORKDIR /app
COPY package.json package-lock.json .npmrc ./
RUN npm ci --ignore-scripts --omit=dev --omit=optional

FROM node:24-bookworm-slim
ENV NODE_ENV=production
WORKDIR /app
COPY --from=dependencies /app/node_modules node_modules
COPY package.json LICENSE ./
COPY config config
COPY edge edge
COPY --from=build /app/dashboard/dist dashboard/dist
RUN mkdir -m 0700 /data && chown node:node /data
USER node
VOLUME /data
EXPOSE 8420
# Alive, not ready: a silent PLC must not restart the monitor. Another port in the config, or tls: set LASTWRAP_HEALTH_URL too,
# with https://127.0.0.1:8420/api/alive for tls. Nothing secret is asked inside the container, so the certificate, which may be
# self-made and names another host, is not checked.
ENV LASTWRAP_HEALTH_URL=http://127.0.0.1:8420/api/alive
HEALTHCHECK --interval=30s --timeout=5s --start-period=20s --retries=3 \
  CMD ["node", "--no-warnings", "-e", "process.env.NODE_TLS_REJECT_UNAUTHORIZED = '0'; fetch(process.env.LASTWRAP_HEALTH_URL, { signal: AbortSignal.timeout(4000) }).then(({ ok }) => process.exit(ok ? 0 : 1), () => process.exit(1))"]
ENTRYPOINT ["node", "edge/main.ts"]
CMD ["start", "--data", "/data"]
