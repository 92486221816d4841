"""Stations, who owns their names, and their decisions: append-only, in order, each chained to the one before.

The server checks all of it itself. A station's account may insert and read, nothing else.
"""

from alembic import op

revision = "0001"
down_revision: str | None = None

PARTITIONS = 16
"""Decisions are spread by their station: what is asked and written is nearly always of one."""

STATIONS = """
CREATE TABLE crumbcall.stations (
    station integer GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name text NOT NULL UNIQUE CHECK (name <> '' AND length(name) <= 40),
    -- SHA-256 of the random id of the installation that owns the name; NULL: it is free to be taken over.
    installation bytea CHECK (octet_length(installation) = 32),
    account text,
    -- The last decision that arrived, and its link of the chain: what the next one must follow.
    decision bigint NOT NULL DEFAULT 0,
    chain bytea NOT NULL DEFAULT ''::bytea,
    heard timestamptz NOT NULL DEFAULT now()
);
CREATE TABLE crumbcall.claims (
    name text NOT NULL,
    installation bytea NOT NULL,
    account text NOT NULL DEFAULT session_user,
    at timestamptz NOT NULL DEFAULT now()
);

CREATE FUNCTION crumbcall.claim() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER
SET search_path = crumbcall, pg_temp AS $$
DECLARE owned crumbcall.stations;
BEGIN
    INSERT INTO stations (name) VALUES (NEW.name) ON CONFLICT (name) DO NOTHING;
    SELECT * INTO owned FROM stations WHERE name = NEW.name FOR UPDATE;
    IF owned.installation = NEW.installation AND owned.account = NEW.account THEN
        RETURN NULL;
    END IF;
    IF owned.installation IS NOT NULL THEN
        RAISE EXCEPTION USING ERRCODE = 'CR001',
            MESSAGE = 'the name ' || quote_literal(NEW.name) || ' is owned by another installation',
            DETAIL = to_char(owned.heard AT TIME ZONE 'UTC', 'YYYY-MM-DD HH24:MI "UTC"');
    END IF;
    UPDATE stations SET installation = NEW.installation, account = NEW.account WHERE station = owned.station;
    RETURN NEW;
END $$;
CREATE TRIGGER claim BEFORE INSERT ON crumbcall.claims FOR EACH ROW EXECUTE FUNCTION crumbcall.claim();

CREATE FUNCTION crumbcall.release(station_name text) RETURNS boolean LANGUAGE sql
SET search_path = crumbcall, pg_temp AS $$
    WITH freed AS (
        UPDATE stations SET installation = NULL, account = NULL WHERE name = station_name RETURNING 1
    ) SELECT EXISTS (SELECT FROM freed)
$$;

-- Refuses whoever is not the owner of a station: told by the account, and by the installation's id, which
-- the transaction has set.
CREATE FUNCTION crumbcall.check_owner(of crumbcall.stations) RETURNS void LANGUAGE plpgsql
SET search_path = crumbcall, pg_temp AS $$
BEGIN
    IF of.installation IS DISTINCT FROM
        sha256(convert_to(coalesce(current_setting('crumbcall.installation', true), ''), 'UTF8'))
        OR of.account IS DISTINCT FROM session_user::text
    THEN
        RAISE EXCEPTION USING ERRCODE = 'CR001',
            MESSAGE = 'the name ' || quote_literal(of.name) || ' is owned by another installation',
            DETAIL = to_char(of.heard AT TIME ZONE 'UTC', 'YYYY-MM-DD HH24:MI "UTC"');
    END IF;
END $$;
"""

DECISIONS = """
CREATE TABLE crumbcall.decisions (
    station integer NOT NULL,
    decision bigint NOT NULL,
    -- As the station's journal has it. Its events have the sequences from this one on, without a gap.
    sequence bigint NOT NULL,
    wall float8 NOT NULL,
    monotonic float8 NOT NULL,
    received timestamptz NOT NULL DEFAULT now(),
    wall_trusted boolean NOT NULL,
    boot text NOT NULL,
    name text NOT NULL,
    batches integer[] NOT NULL,
    names text[] NOT NULL,
    bodies text[] NOT NULL CHECK (cardinality(bodies) BETWEEN 1 AND 10000),
    chain bytea NOT NULL,
    PRIMARY KEY (station, decision),
    CHECK (cardinality(batches) = cardinality(bodies) AND cardinality(names) = cardinality(bodies))
) PARTITION BY HASH (station);

-- The chain of a decision, as assistant/journal/chain.py makes it.
CREATE FUNCTION crumbcall.text_part(value text) RETURNS bytea LANGUAGE sql IMMUTABLE AS $$
    SELECT int8send(length(convert_to(value, 'UTF8'))) || convert_to(value, 'UTF8')
$$;
CREATE FUNCTION crumbcall.chained(previous bytea, d crumbcall.decisions) RETURNS bytea LANGUAGE sql STABLE
SET search_path = crumbcall, pg_temp AS $$
    SELECT sha256(
        text_part(encode(previous, 'hex')) || int8send(d.decision) || float8send(d.wall)
        || float8send(d.monotonic) || text_part(d.boot) || int8send(d.wall_trusted::int) || text_part(d.name)
        || (
            SELECT string_agg(
                int8send(d.sequence + e.place - 1) || int8send(coalesce(e.batch, 0))
                || text_part(e.name) || text_part(e.body), ''::bytea ORDER BY e.place
            )
            FROM unnest(d.batches, d.names, d.bodies) WITH ORDINALITY AS e(batch, name, body, place)
        )
    )
$$;
CREATE VIEW crumbcall.events AS
    SELECT d.station, d.decision, d.sequence + e.place - 1 AS sequence, e.batch, e.name,
        e.body::jsonb AS body, d.wall, d.wall_trusted, d.received
    FROM crumbcall.decisions d, unnest(d.batches, d.names, d.bodies)
        WITH ORDINALITY AS e(batch, name, body, place);

-- What arrived must follow the last decision of its station, without a gap, and every link must be right.
CREATE FUNCTION crumbcall.verify_arrived() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER
SET search_path = crumbcall, pg_temp AS $$
DECLARE
    head crumbcall.stations;
    came record;
    wrong bigint;
BEGIN
    IF EXISTS (SELECT a.station FROM arrived a EXCEPT SELECT s.station FROM stations s) THEN
        RAISE EXCEPTION USING ERRCODE = 'CR001', MESSAGE = 'no such station';
    END IF;
    FOR head IN
        SELECT s.* FROM stations s WHERE s.station IN (SELECT a.station FROM arrived a)
        ORDER BY s.station FOR UPDATE
    LOOP
        PERFORM check_owner(head);
        SELECT min(decision) AS first, max(decision) AS last, count(*) AS many INTO came
            FROM arrived WHERE station = head.station;
        IF came.first <> head.decision + 1 OR came.last - came.first + 1 <> came.many THEN
            RAISE EXCEPTION USING ERRCODE = 'CR002',
                MESSAGE = 'decisions ' || came.first || ' to ' || came.last
                    || ' do not follow ' || head.decision;
        END IF;
        SELECT linked.decision INTO wrong FROM (
            SELECT a.decision, a.chain, chained(
                lag(a.chain, 1, head.chain) OVER (ORDER BY a.decision), ROW(a.*)::crumbcall.decisions
            ) AS made
            FROM arrived a WHERE a.station = head.station
        ) linked WHERE linked.chain IS DISTINCT FROM linked.made ORDER BY linked.decision LIMIT 1;
        IF wrong IS NOT NULL THEN
            RAISE EXCEPTION USING ERRCODE = 'CR003',
                MESSAGE = 'decision ' || wrong || ' is not what its chain says';
        END IF;
        UPDATE stations SET decision = came.last, heard = now(), chain = (
            SELECT chain FROM arrived WHERE station = head.station AND decision = came.last
        ) WHERE station = head.station;
    END LOOP;
    RETURN NULL;
END $$;
CREATE TRIGGER verify_arrived AFTER INSERT ON crumbcall.decisions
    REFERENCING NEW TABLE AS arrived FOR EACH STATEMENT EXECUTE FUNCTION crumbcall.verify_arrived();

CREATE FUNCTION crumbcall.append_only() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION USING ERRCODE = 'CR004', MESSAGE = 'what a station recorded is never changed or removed';
END $$;
CREATE TRIGGER append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON crumbcall.decisions
    FOR EACH STATEMENT EXECUTE FUNCTION crumbcall.append_only();
"""

ROLES = """
DO $$ BEGIN
    IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'crumbcall_station') THEN
        CREATE ROLE crumbcall_station NOLOGIN;
    END IF;
END $$;
REVOKE ALL ON ALL FUNCTIONS IN SCHEMA crumbcall FROM PUBLIC;
GRANT USAGE ON SCHEMA crumbcall TO crumbcall_station;
GRANT SELECT ON crumbcall.version, crumbcall.stations, crumbcall.decisions, crumbcall.events
    TO crumbcall_station;
GRANT INSERT (name, installation) ON crumbcall.claims TO crumbcall_station;
GRANT INSERT (
    station, decision, sequence, wall, monotonic, wall_trusted, boot, name, batches, names, bodies, chain
)
    ON crumbcall.decisions TO crumbcall_station;
"""


def upgrade() -> None:
    """Make the tables of this step."""
    run = op.get_bind().exec_driver_sql
    run(STATIONS)
    run(DECISIONS)
    for part in range(PARTITIONS):
        run(
            f"CREATE TABLE crumbcall.decisions_{part:02} PARTITION OF crumbcall.decisions "
            f"FOR VALUES WITH (MODULUS {PARTITIONS}, REMAINDER {part})"
        )
    run(ROLES)
