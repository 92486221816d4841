"""What the stations of a group share: what closed batches say of their flour, and the kitchen's files."""

from alembic import op

revision = "0002"
down_revision: str | None = "0001"

FLOUR = """
ALTER TABLE crumbcall.stations ADD COLUMN flour bigint NOT NULL DEFAULT 0;
CREATE TABLE crumbcall.flour (
    station integer NOT NULL REFERENCES crumbcall.stations,
    -- The last decision that this row knows of; a later row of the batch takes its place.
    decision bigint NOT NULL,
    batch integer NOT NULL,
    lot text,
    ended_wall float8,
    -- What the batch says of its lot, as JSON; NULL: it is evidence no more.
    body text CHECK (length(body) < 100000),
    PRIMARY KEY (station, decision, batch)
);
CREATE INDEX flour_of_lot ON crumbcall.flour (lot, ended_wall);

CREATE FUNCTION crumbcall.verify_flour() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER
SET search_path = crumbcall, pg_temp AS $$
DECLARE
    head crumbcall.stations;
    came record;
BEGIN
    FOR head IN
        SELECT s.* FROM stations s WHERE s.station IN (SELECT a.station FROM arrived a)
        ORDER BY s.station FOR UPDATE
    LOOP
        PERFORM check_owner(head);
        SELECT min(decision) AS first, max(decision) AS last INTO came
            FROM arrived WHERE station = head.station;
        IF came.first <= head.flour OR came.last > head.decision THEN
            RAISE EXCEPTION USING ERRCODE = 'CR002',
                MESSAGE = 'flour of decisions ' || came.first || ' to ' || came.last || ' does not follow '
                    || head.flour || ', or is ahead of ' || head.decision;
        END IF;
        UPDATE stations SET flour = came.last WHERE station = head.station;
    END LOOP;
    RETURN NULL;
END $$;
CREATE TRIGGER verify_flour AFTER INSERT ON crumbcall.flour
    REFERENCING NEW TABLE AS arrived FOR EACH STATEMENT EXECUTE FUNCTION crumbcall.verify_flour();
CREATE TRIGGER append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON crumbcall.flour
    FOR EACH STATEMENT EXECUTE FUNCTION crumbcall.append_only();
"""

DOCUMENTS = """
CREATE TABLE crumbcall.documents (
    name text NOT NULL CHECK (length(name) <= 200),
    version integer NOT NULL CHECK (version > 0),
    content text NOT NULL CHECK (length(content) <= 1000000),
    station integer NOT NULL REFERENCES crumbcall.stations,
    at timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (name, version)
);

CREATE FUNCTION crumbcall.verify_document() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER
SET search_path = crumbcall, pg_temp AS $$
DECLARE
    writer crumbcall.stations;
    newest integer;
BEGIN
    SELECT * INTO writer FROM stations WHERE station = NEW.station;
    PERFORM check_owner(writer);
    PERFORM pg_advisory_xact_lock(hashtext('crumbcall.documents'), hashtext(NEW.name));
    SELECT coalesce(max(version), 0) INTO newest FROM documents WHERE name = NEW.name;
    IF NEW.version <> newest + 1 THEN
        RAISE EXCEPTION USING ERRCODE = 'CR005',
            MESSAGE = NEW.name || ' is of version ' || newest || ' by now';
    END IF;
    RETURN NEW;
END $$;
CREATE TRIGGER verify_document BEFORE INSERT ON crumbcall.documents
    FOR EACH ROW EXECUTE FUNCTION crumbcall.verify_document();
CREATE TRIGGER append_only BEFORE UPDATE OR DELETE OR TRUNCATE ON crumbcall.documents
    FOR EACH STATEMENT EXECUTE FUNCTION crumbcall.append_only();
"""

ROLES = """
REVOKE ALL ON ALL FUNCTIONS IN SCHEMA crumbcall FROM PUBLIC;
GRANT SELECT ON crumbcall.flour, crumbcall.documents TO crumbcall_station;
GRANT INSERT (station, decision, batch, lot, ended_wall, body) ON crumbcall.flour TO crumbcall_station;
GRANT INSERT (name, version, content, station) ON crumbcall.documents TO crumbcall_station;
"""


def upgrade() -> None:
    """Make the tables of this step."""
    for statements in (FLOUR, DOCUMENTS, ROLES):
        op.get_bind().exec_driver_sql(statements)
