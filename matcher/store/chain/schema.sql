-- A chain's tables in its PostgreSQL. Whoever makes them owns them; the counters' role needs no more than to
-- select, insert and update. What must never happen is refused here, whoever asks and by whatever program.

create schema boltback;

create table boltback.chain (
    single boolean primary key default true check (single),
    chain_id uuid not null default gen_random_uuid(),
    format integer not null,
    made_at timestamptz not null default now());

-- Every change has its turn: one after the other, numbered without a gap in the order in which they were kept.
create table boltback.turn (
    number bigint primary key,
    mark uuid not null unique,
    taken_at timestamptz not null default clock_timestamp(),
    counter text not null,
    by_whom text not null);

create table boltback.vehicle (
    vehicle_id text primary key, document text not null, turn bigint not null);
create table boltback.job (
    job_id text primary key, vehicle_id text not null references boltback.vehicle, document text not null,
    answered_on integer, loaded_at timestamptz, turn bigint not null);
create table boltback.reading (
    reading_id integer primary key, subject text not null, field text not null, value text not null,
    tol numeric(15,6), basis text, by_whom text, read_at timestamptz not null, note text, turn bigint not null);
create table boltback.voided_reading (
    subject text not null, field text not null, value text not null, read_at timestamptz not null,
    voided_at timestamptz not null, by_whom text not null, note text not null, turn bigint not null,
    primary key (subject, field, value, read_at));
create table boltback.choice (
    job_id text not null references boltback.job, number integer not null, chosen_at timestamptz not null,
    by_whom text not null, rank integer not null, catalog_version integer not null, document text not null,
    turn bigint not null, primary key (job_id, number));
create table boltback.setup (
    job_id text not null references boltback.job, number integer not null, set_up_at timestamptz not null,
    by_whom text not null, document text not null, turn bigint not null, primary key (job_id, number));
create table boltback.signature (
    job_id text primary key references boltback.job, signed_at timestamptz not null, by_whom text not null, note text,
    turn bigint not null);
create table boltback.event (
    event_id integer primary key, happened_at timestamptz not null, by_whom text not null, what text not null,
    subject text not null, detail text, document text, turn bigint not null);
create table boltback.setting (
    name text primary key, value numeric(15,6) not null, turn bigint not null);
create table boltback.word_setting (
    name text primary key, word text not null, turn bigint not null);
create table boltback.page_link (
    token_hash text primary key, job_id text not null references boltback.job, made_at timestamptz not null,
    by_whom text not null, expires_at timestamptz not null, revoked_at timestamptz, what text not null,
    page text not null, turn bigint not null);

create function boltback.await_turn() returns void language sql as
    'select pg_advisory_xact_lock(1651270769, 1)';

-- The number of this transaction's turn. A program that has not taken one is given one by its first write.
create function boltback.this_turn(
    mark uuid default gen_random_uuid(), counter text default 'by hand', by_whom text default current_user
) returns bigint language plpgsql as $$
declare
    taken bigint := nullif(current_setting('boltback.turn', true), '')::bigint;
begin
    if taken is null then
        perform boltback.await_turn();
        insert into boltback.turn (number, mark, counter, by_whom)
            select coalesce(max(number), 0) + 1, this_turn.mark, this_turn.counter, this_turn.by_whom from boltback.turn
            returning number into taken;
        perform set_config('boltback.turn', taken::text, true);
    end if;
    return taken;
end $$;

create function boltback.stamp() returns trigger language plpgsql as $$
begin
    new.turn := boltback.this_turn();
    return new;
end $$;

create function boltback.refuse() returns trigger language plpgsql as $$
begin
    raise exception '% of boltback.%: what a chain has written down is neither altered nor taken out',
        lower(tg_op), tg_table_name;
end $$;

-- A job that was signed off stays as it is, with its choices, set-ups and readings.
create function boltback.refuse_signed() returns trigger language plpgsql as $$
declare
    job text := coalesce(to_jsonb(new) ->> 'job_id', substring(to_jsonb(new) ->> 'subject' from '^job:(.*)$'));
begin
    if exists (select from boltback.signature s where s.job_id = job) then
        raise exception 'the job % was signed off and stays as it is', job;
    end if;
    return new;
end $$;

do $$
declare
    kept text;
begin
    foreach kept in array array['vehicle', 'job', 'reading', 'voided_reading', 'choice', 'setup', 'signature',
        'event', 'setting', 'word_setting', 'page_link'] loop
        execute format('create index on boltback.%I (turn)', kept);
        execute format('create trigger stamp before insert or update on boltback.%I '
            'for each row execute function boltback.stamp()', kept);
        execute format('create trigger keep before delete on boltback.%I '
            'for each row execute function boltback.refuse()', kept);
        execute format('create trigger keep_all before truncate on boltback.%I '
            'for each statement execute function boltback.refuse()', kept);
    end loop;
    foreach kept in array array['reading', 'voided_reading', 'choice', 'setup', 'signature', 'event'] loop
        execute format('create trigger append before update on boltback.%I '
            'for each row execute function boltback.refuse()', kept);
    end loop;
    foreach kept in array array['job', 'reading', 'voided_reading', 'choice', 'setup'] loop
        execute format('create trigger signed before insert or update on boltback.%I '
            'for each row execute function boltback.refuse_signed()', kept);
    end loop;
end $$;

create trigger keep before update or delete on boltback.turn for each row execute function boltback.refuse();
create trigger keep_all before truncate on boltback.turn for each statement execute function boltback.refuse();
create trigger keep before delete on boltback.chain for each row execute function boltback.refuse();
create trigger keep_all before truncate on boltback.chain for each statement execute function boltback.refuse();
