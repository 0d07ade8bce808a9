// The grammar. Actions call functions of src/syntax/grow.c; what the nodes hold is in src/syntax/node.def.

%name parser
%token_prefix TOKEN_
%token_type {Token}
%extra_context {Reader *reader}
%stack_size 4200

// The driver reports, takes off the stack what cannot be finished, puts a BROKEN in its place, and goes on: see read.c.
%syntax_error { reader->failed = true; }
%stack_overflow { reader->failed = true; }

%include {
#include "syntax/reader.h"

#define YYNOERRORRECOVERY 1
}

%token NAME NUMBER TEXT UNIT_TEXT CLAUSE SKEW BROKEN STRAY.
%token LBRACE RBRACE LPAREN RPAREN COMMA COLON SEMICOLON DOT EQUAL LESS AT_MOST MORE AT_LEAST UNEQUAL PLUS MINUS TIMES OVER
       POWER AROUND.
%token OR AND NOT IN AT IF THEN ELSE TO YES NO IN_UNIT IN_TIME.
%token NEGATE CELL.

// All words that are not reserved.
%fallback NAME
    USE UNIT PREFIX KIND CHOICE FORM CYCLE SOURCE REQUIREMENT CONCESSION
    BASE ABOVE OF PREFIXES ALSO SHOWN POINT GIVEN MAYBE LET RULE CAUTION SEVERAL TABLE OVER_WORD
    WITHIN VARIES WITH SETTLES FROM NEEDS CITES VALID WHEN SHALL SHOULD BECAUSE NONE METHOD EVIDENCE
    REFINES READING DIGEST COVERS UNTIL LEFT OUT PROGRESSIVE
    MOVE HOLD RUN FOR SPEED ACCELERATION DECELERATION JERK BY AS NOMINAL ANY WHERE.

// Loosest first; src/syntax/operator.def has the same order. Comparisons are made chains in grow_binary.
%nonassoc STRAY.
%nonassoc TEXT. // adjacent texts are one: a text is taken in before anything else is thought of
%right ELSE.
%left OR.
%left AND.
%right NOT.
%left EQUAL UNEQUAL LESS AT_MOST MORE AT_LEAST IN.
%left PLUS MINUS.
%left TIMES OVER.
%right NEGATE.
%right POWER.
%left AT.

%type items {List}
%type unit_names {List}
%type unit_tail {List}
%type kind_tail {List}
%type words {List}
%type members {List}
%type plain {List}
%type after {List}
%type clauses {List}
%type fields {List}
%type values {List}
%type rows {List}
%type segments {List}
%type motions {List}
%type laws {List}
%type entries {List}
%type from_clauses {List}
%type conclauses {List}
%type covered {List}
%type reqclauses {List}
%type texts {List}
%type expr {Expression}
%type path {Expression}
%type value {Expression}
%type whole {Expression}
%type arguments {Expressions}
%default_type {NodeId}

%include {
typedef struct Expressions {
    List list;
    uint32_t depth;
} Expressions;

#define NODE(kind_, span_, name_, a_, b_, c_) grow_node(reader, NODE_##kind_, span_, name_, a_, b_, c_)
#define OPTION(kind_, span_, name_, a_) grow_option(reader, OPTION_##kind_, span_, name_, a_)
#define NAME(token_) grow_name(reader, token_)
#define LIST(node_) ((List){(node_), (node_)})
#define SPAN(id_) (reader_node(reader, id_)->span)
static const List EMPTY = {0, 0};

static List with_title(Reader *reader, NodeId title, List rest) {
    List list = {title, title};
    return list_join(reader, list, rest);
}
}

//// Items ////////////////////////////////////////////////////////////////////////////////////////////////////////////////

file ::= items(I).                       { reader->items = I.first; }
// One cell of a table, read as the value of a field: see cell.c.
file ::= CELL value(V).                  { reader->items = V.id; }
file ::= CELL values(L).                 { reader->items = NODE(LIST, span_join(SPAN(L.first), SPAN(L.last)), 0, L.first, 0, 0); }

items(A) ::= .                           { A = EMPTY; }
items(A) ::= items(A) item(I).           { list_add(reader, &A, I); }

item(A) ::= BROKEN(T).                   { A = grow_broken(reader, T); }

// use "path"
item(A) ::= USE(U) texts(T).             { A = NODE(USE, U.span, 0, T.first, 0, 0); }
// use "motors.csv" as dc-motor
item(A) ::= USE(U) texts(T) AS NAME(F).  { NodeId form = NODE(NAME, F.span, NAME(F), 0, 0, 0);
                                           A = NODE(USE, U.span, 0, T.first, form, 0); }

// unit rpm "revolution per minute" = 1 rev/min of angular-velocity
item(A) ::= UNIT unit_names(N) title(T) BASE(B) NAME(D) unit_tail(O).
                                         { NodeId base = OPTION(BASE, span_join(B.span, D.span), NAME(D), 0);
                                           Node *first = reader_node(reader, N.first);
                                           List list = with_title(reader, T, with_title(reader, base, O));
                                           A = NODE(UNIT, first->span, first->name, first->next, 0, list.first); }
item(A) ::= UNIT unit_names(N) title(T) EQUAL NUMBER(V) unit_tail(O).
                                         { Node *first = reader_node(reader, N.first);
                                           A = NODE(UNIT, first->span, first->name, first->next, V.value, with_title(reader, T, O).first); }
// prefix m, milli "milli" = 0.001
item(A) ::= PREFIX unit_names(N) title(T) EQUAL NUMBER(V).
                                         { Node *first = reader_node(reader, N.first);
                                           A = NODE(PREFIX, first->span, first->name, first->next, V.value, T); }
unit_names(A) ::= UNIT_TEXT(U).          { NodeId name = NODE(NAME, U.span, U.value, 0, 0, 0); A = LIST(name); }
unit_names(A) ::= unit_names(A) COMMA UNIT_TEXT(U). { list_add(reader, &A, NODE(NAME, U.span, U.value, 0, 0, 0)); }
unit_tail(A) ::= .                       { A = EMPTY; }
unit_tail(A) ::= unit_tail(A) ABOVE(W) NUMBER(N). { list_add(reader, &A, OPTION(ABOVE, span_join(W.span, N.span), 0, N.value)); }
unit_tail(A) ::= unit_tail(A) OF(W) NAME(N). { list_add(reader, &A, OPTION(OF, span_join(W.span, N.span), NAME(N), 0)); }
unit_tail(A) ::= unit_tail(A) PREFIXES(W). { list_add(reader, &A, OPTION(PREFIXES, W.span, 0, 0)); }

// kind torque "Torque" in N·m/rad also N·m shown mN·m, N·m
item(A) ::= KIND NAME(N) title(T) IN_UNIT UNIT_TEXT(U) kind_tail(O).
                                         { NodeId one = grow_number(reader, U.span, 1, U.value);
                                           A = NODE(KIND, N.span, NAME(N), 0, one, with_title(reader, T, O).first); }
kind_tail(A) ::= .                       { A = EMPTY; }
kind_tail(A) ::= kind_tail(A) ALSO UNIT_TEXT(U). { list_add(reader, &A, OPTION(ALSO, U.span, U.value, 0)); }
kind_tail(A) ::= kind_tail(A) POINT(W).  { list_add(reader, &A, OPTION(POINT, W.span, 0, 0)); }
kind_tail(A) ::= kind_tail(A) SHOWN unit_names(N).
                                         { for (NodeId name = N.first; name; name = reader_node(reader, name)->next) {
                                               Span span = SPAN(name);
                                               list_add(reader, &A, OPTION(SHOWN, span, reader_node(reader, name)->name, 0));
                                           } }

// choice commutation "How the motor is commutated" { block sine "with sinusoidal currents" }
item(A) ::= choice_head(A) opened words(W) RBRACE. { reader_node(reader, A)->a = W.first; }
choice_head(A) ::= CHOICE NAME(N) title(T). { A = reader->head = NODE(CHOICE, N.span, NAME(N), 0, 0, T); }
words(A) ::= .                           { A = EMPTY; }
words(A) ::= words(A) NAME(N) text(T).   { list_add(reader, &A, NODE(WORD, N.span, NAME(N), T, 0, 0)); }
words(A) ::= words(A) BROKEN(T).         { grow_broken(reader, T); }

//// Forms ////////////////////////////////////////////////////////////////////////////////////////////////////////////////

// form dc-motor : motor "Direct-current motor" { … }
item(A) ::= form_head(A) opened members(M) RBRACE. { reader_node(reader, A)->b = M.first; }
form_head(A) ::= FORM NAME(N) base(B) title(T). { A = reader->head = NODE(FORM, N.span, NAME(N), B, 0, T); }
base(A) ::= .                            { A = 0; }
base(A) ::= COLON NAME(N).               { A = NODE(NAME, N.span, NAME(N), 0, 0, 0); }

members(A) ::= .                         { A = EMPTY; }
members(A) ::= members(A) member(M).     { list_add(reader, &A, M); }

member(A) ::= BROKEN(T).                 { A = grow_broken(reader, T); }
member(A) ::= declared(A) type(T) plain(O).
                                         { Node *node = reader_node(reader, A); node->a = T; node->c = O.first; }
member(A) ::= declared(A) type(T) plain(O) asking(F) after(P).
                                         { List list = O; list_add(reader, &list, F); list = list_join(reader, list, P);
                                           Node *node = reader_node(reader, A); node->a = T; node->c = list.first; }
member(A) ::= declared(A) type(T) plain(O) EQUAL default(V) after(P).
                                         { List list = list_join(reader, O, P);
                                           Node *node = reader_node(reader, A); node->a = T; node->b = V; node->c = list.first; }
declared(A) ::= GIVEN NAME(N) COLON.     { A = reader->latest = NODE(GIVEN, N.span, NAME(N), 0, 0, 0); }
declared(A) ::= MAYBE NAME(N) COLON.     { A = reader->latest = NODE(MAYBE, N.span, NAME(N), 0, 0, 0); }
declared(A) ::= LET NAME(N) COLON.       { A = reader->latest = NODE(LET, N.span, NAME(N), 0, 0, 0); }

type(A) ::= NAME(N).                     { A = NODE(TYPE, N.span, NAME(N), 0, 0, 0); }
type(A) ::= NAME(N) SEVERAL(S).          { A = NODE(TYPE, span_join(N.span, S.span), NAME(N), 0, 0, 0);
                                           reader_node(reader, A)->flags = TYPE_SEVERAL; }
type(A) ::= CYCLE(C) OF NAME(N).         { A = NODE(TYPE, span_join(C.span, N.span), NAME(N), 0, 0, 0);
                                           reader_node(reader, A)->op = TYPE_CYCLE; }
type(A) ::= TABLE(T) OF NAME(V) OVER_WORD NAME(K).
                                         { NodeId key = NODE(TYPE, K.span, NAME(K), 0, 0, 0);
                                           A = NODE(TYPE, span_join(T.span, K.span), NAME(V), key, 0, 0);
                                           reader_node(reader, A)->op = TYPE_TABLE; }
type(A) ::= BROKEN(T).                   { A = NODE(BROKEN, T.span, 0, 0, 0, 0); }

// Before the '=' stand only options without an expression: there, `=` would be a comparison.
plain(A) ::= .                           { A = EMPTY; }
plain(A) ::= plain(A) remark(O).         { list_add(reader, &A, O); }
after(A) ::= .                           { A = EMPTY; }
after(A) ::= after(A) remark(O).         { list_add(reader, &A, O); }
after(A) ::= after(A) asking(O).         { list_add(reader, &A, O); }

remark(A) ::= IN_UNIT(W) UNIT_TEXT(U).   { A = OPTION(SHOWN, span_join(W.span, U.span), U.value, 0); }
remark(A) ::= texts(T). [STRAY]                { A = OPTION(DOC, SPAN(T.first), 0, T.first); }
remark(A) ::= CITES(W) texts(T). [STRAY]       { A = OPTION(CITES, W.span, 0, T.first); }
remark(A) ::= VALID(W) texts(T). [STRAY]       { A = OPTION(VALID, W.span, 0, T.first); }
asking(A) ::= WITHIN(W) whole(E).        { A = reader->latest = OPTION(WITHIN, W.span, 0, E.id); }
asking(A) ::= VARIES(W) WITH whole(E).   { A = reader->latest = OPTION(VARIES, W.span, 0, E.id); }
asking(A) ::= SETTLES(W) FROM whole(E).  { A = reader->latest = OPTION(SETTLES, W.span, 0, E.id); }
asking(A) ::= NEEDS(W) whole(E).         { A = reader->latest = OPTION(NEEDS, W.span, 0, E.id); }

default(A) ::= whole(E).                 { A = E.id; }
default(A) ::= default_head(A) opened fields(F) RBRACE. { reader_node(reader, A)->b = F.first; }
default(A) ::= table(A).
default_head(A) ::= NAME(N).             { NodeId form = NODE(NAME, N.span, NAME(N), 0, 0, 0);
                                           A = reader->head = NODE(FILLED, N.span, 0, form, 0, 0); }

// rule energy "…" { shall a <= b  cites "…" }
member(A) ::= rule_head(A) opened clauses(C) RBRACE. { Node *node = reader_node(reader, A); List title = LIST(node->c);
                                           node->c = list_join(reader, title, C).first; }
rule_head(A) ::= RULE NAME(N) texts(T).  { A = reader->head = NODE(RULE, N.span, NAME(N), 0, 0, grow_title(reader, T.first)); }
rule_head(A) ::= CAUTION NAME(N) texts(T). { A = reader->head = NODE(CAUTION, N.span, NAME(N), 0, 0, grow_title(reader, T.first)); }
clauses(A) ::= .                         { A = EMPTY; }
clauses(A) ::= clauses(A) clause(C).     { list_add(reader, &A, C); }
clause(A) ::= BROKEN(T).                 { A = grow_broken(reader, T); }
clause(A) ::= condition(A).
clause(A) ::= reason(A).
condition(A) ::= WHEN(W) whole(E).       { A = reader->latest = OPTION(WHEN, W.span, 0, E.id); }
condition(A) ::= SHALL(W) whole(E).      { A = reader->latest = OPTION(SHALL, W.span, 0, E.id); }
condition(A) ::= SHOULD(W) whole(E).     { A = reader->latest = OPTION(SHOULD, W.span, 0, E.id); }
reason(A) ::= CITES(W) texts(T).         { A = OPTION(CITES, W.span, 0, T.first); }
reason(A) ::= BECAUSE(W) texts(T).       { A = OPTION(BECAUSE, W.span, 0, T.first); }

//// Forms filled in //////////////////////////////////////////////////////////////////////////////////////////////////////

// dc-motor Rook-38-24 "…" { … }
item(A) ::= filled_head(A) opened fields(F) RBRACE. { reader_node(reader, A)->b = F.first; }
filled_head(A) ::= NAME(F) NAME(N) title(T). { A = reader->head = grow_filled(reader, F, N, T); }

fields(A) ::= .                          { A = EMPTY; }
fields(A) ::= fields(A) field(F).        { grow_field(reader, &A, F); }

field(A) ::= BROKEN(T).                  { A = grow_broken(reader, T); }
field(A) ::= NAME(N) EQUAL value(V).     { A = reader->latest = NODE(FIELD, N.span, NAME(N), V.id, 0, 0); }
field(A) ::= NAME(N) EQUAL values(L).    { NodeId list = NODE(LIST, span_join(SPAN(L.first), SPAN(L.last)), 0, L.first, 0, 0);
                                           A = reader->latest = NODE(FIELD, N.span, NAME(N), list, 0, 0); }
values(A) ::= value(V) COMMA value(W).   { A = LIST(V.id); list_add(reader, &A, W.id); }
values(A) ::= values(A) COMMA value(V).  { list_add(reader, &A, V.id); }

value(A) ::= whole(A).
value(A) ::= inline_head(H) opened fields(F) RBRACE. { reader_node(reader, H)->b = F.first; A = grow_leaf(H); }
value(A) ::= table(T).                   { A = grow_leaf(T); }
// motor = any dc-motor where diameter <= 24 mm
value(A) ::= ANY(W) NAME(N).             { A = grow_any(reader, W, N, (Expression){0, 0}); }
value(A) ::= ANY(W) NAME(N) WHERE whole(E). { A = grow_any(reader, W, N, E); }
inline_head(A) ::= NAME(N) title(T).     { NodeId form = NODE(NAME, N.span, NAME(N), 0, 0, 0);
                                           A = reader->head = NODE(FILLED, N.span, 0, form, 0, T); }

// table { 40 °C: 100 %; 60 °C: 55 % }
table(A) ::= table_head(A) opened rows(R) RBRACE. { reader_node(reader, A)->a = R.first; }
table(A) ::= table_head(A) opened rows(R) SEMICOLON RBRACE. { reader_node(reader, A)->a = R.first; }
table(A) ::= TABLE(W) TEXT(T).            { A = NODE(TABLE, span_join(W.span, T.span), 0, 0, T.value, 0); } // table "derating.csv"
table_head(A) ::= TABLE(T).              { A = reader->head = NODE(TABLE, T.span, 0, 0, 0, 0); }
rows(A) ::= row(R).                      { A = LIST(R); }
rows(A) ::= rows(A) SEMICOLON row(R).    { list_add(reader, &A, R); }
row(A) ::= expr(K) COLON expr(V).        { A = NODE(ROW, span_join(SPAN(K.id), SPAN(V.id)), 0, K.id, V.id, 0); }
row(A) ::= BROKEN(T).                    { A = grow_broken(reader, T); }

//// Motion ///////////////////////////////////////////////////////////////////////////////////////////////////////////////

// cycle exchange "…" progressive { move 320 mm in 1.40 s by cycloidal }
item(A) ::= cycle_head(A) opened segments(S) RBRACE. { reader_node(reader, A)->b = S.first; }
item(A) ::= cycle_head(A) FROM texts(T). { reader_node(reader, A)->a = T.first; } // cycle pick "…" from "pick.csv"
cycle_head(A) ::= CYCLE NAME(N) title(T). { A = reader->head = NODE(CYCLE, N.span, NAME(N), 0, 0, T); }
cycle_head(A) ::= CYCLE NAME(N) title(T) PROGRESSIVE(P).
                                         { List list = LIST(T); NodeId option = OPTION(PROGRESSIVE, P.span, 0, 0);
                                           list_add(reader, &list, option);
                                           A = reader->head = NODE(CYCLE, N.span, NAME(N), 0, 0, T ? T : option); }
segments(A) ::= .                        { A = EMPTY; }
segments(A) ::= segments(A) segment(S).  { list_add(reader, &A, S); }

segment(A) ::= BROKEN(T).                { A = grow_broken(reader, T); }
segment(A) ::= motion(A).
segment(A) ::= motion(A) opened fields(F) RBRACE. { reader_node(reader, A)->c = F.first; }
motion(A) ::= MOVE(W) whole(E) motions(M). { A = NODE(SEGMENT, W.span, 0, E.id, M.first, 0);
                                           A = reader->head = reader->latest = grow_segment(reader, A, SEGMENT_MOVE); }
motion(A) ::= HOLD(W) whole(E) motions(M). { A = NODE(SEGMENT, W.span, 0, E.id, M.first, 0);
                                           A = reader->head = reader->latest = grow_segment(reader, A, SEGMENT_HOLD); }
motion(A) ::= RUN(W) whole(E) FOR(F) whole(D) motions(M).
                                         { NodeId time = OPTION(FOR, F.span, 0, D.id); reader_node(reader, time)->next = M.first;
                                           A = NODE(SEGMENT, W.span, 0, E.id, time, 0);
                                           A = reader->head = reader->latest = grow_segment(reader, A, SEGMENT_RUN); }
motions(A) ::= .                         { A = EMPTY; }
motions(A) ::= motions(A) limit(L).      { list_add(reader, &A, L); }
limit(A) ::= IN_TIME(W) whole(E).        { A = reader->latest = OPTION(IN, W.span, 0, E.id); }
limit(A) ::= SPEED(W) whole(E).          { A = reader->latest = OPTION(SPEED, W.span, 0, E.id); }
limit(A) ::= ACCELERATION(W) whole(E).   { A = reader->latest = OPTION(ACCELERATION, W.span, 0, E.id); }
limit(A) ::= DECELERATION(W) whole(E).   { A = reader->latest = OPTION(DECELERATION, W.span, 0, E.id); }
limit(A) ::= JERK(W) whole(E).           { A = reader->latest = OPTION(JERK, W.span, 0, E.id); }
limit(A) ::= BY NAME(N).                 { A = OPTION(BY, N.span, NAME(N), 0); }
limit(A) ::= BY NAME(N) LPAREN laws(L) RPAREN. { A = OPTION(BY, N.span, NAME(N), L.first); }
limit(A) ::= AS NAME(N).                 { A = NODE(NAME, N.span, NAME(N), 0, 0, 0); } // taken out by grow_segment
laws(A) ::= law(F).                      { A = LIST(F); }
laws(A) ::= laws(A) COMMA law(F).        { list_add(reader, &A, F); }
law(A) ::= NAME(N) EQUAL expr(E).        { A = NODE(FIELD, N.span, NAME(N), E.id, 0, 0); }

//// Sources and requirements ///////////////////////////////////////////////////////////////////////////////////////////////

// source URS "…" { §1.1 "…"  §1.2 left out "…" }
item(A) ::= source_head(A) opened entries(E) RBRACE. { reader_node(reader, A)->b = E.first; }
source_head(A) ::= SOURCE NAME(N) title(T). { A = reader->head = NODE(SOURCE, N.span, NAME(N), 0, 0, T); }
entries(A) ::= .                         { A = EMPTY; }
entries(A) ::= entries(A) entry(E).      { list_add(reader, &A, E); }
entry(A) ::= BROKEN(T).                  { A = grow_broken(reader, T); }
entry(A) ::= CLAUSE(C) text(T).          { A = NODE(CLAUSE, C.span, C.value, T, 0, 0); }
entry(A) ::= CLAUSE(C) text(T) LEFT(L) OUT texts(R).
                                         { NodeId out = OPTION(LEFT_OUT, L.span, 0, R.first);
                                           A = NODE(CLAUSE, C.span, C.value, T, 0, out); }

// requirement LIFT-4 "…" { shall a <= b  from URS §2.1 }
item(A) ::= requirement_head(A) opened reqclauses(C) RBRACE.
                                         { Node *node = reader_node(reader, A); List title = LIST(node->c);
                                           node->c = list_join(reader, title, C).first; }
requirement_head(A) ::= REQUIREMENT NAME(N) title(T). { A = reader->head = NODE(REQUIREMENT, N.span, NAME(N), 0, 0, T); }
reqclauses(A) ::= .                      { A = EMPTY; }
reqclauses(A) ::= reqclauses(A) reqclause(C). { list_add(reader, &A, C); }
reqclause(A) ::= BROKEN(T).              { A = grow_broken(reader, T); }
reqclause(A) ::= condition(A).
reqclause(A) ::= reason(A).
reqclause(A) ::= FROM NAME(N) from_clauses(C). { A = OPTION(FROM, N.span, NAME(N), C.first); }
reqclause(A) ::= FROM(W) NONE texts(T).  { A = OPTION(FROM_NONE, W.span, 0, T.first); }
reqclause(A) ::= METHOD NAME(N).         { A = OPTION(METHOD, N.span, NAME(N), 0); }
reqclause(A) ::= EVIDENCE(W) texts(T).   { A = OPTION(EVIDENCE, W.span, 0, T.first); }
reqclause(A) ::= REFINES NAME(N).        { A = OPTION(REFINES, N.span, NAME(N), 0); }
reqclause(A) ::= READING(W) NAME(N) texts(T). { A = OPTION(READING, W.span, NAME(N), T.first); }
reqclause(A) ::= WITHIN(W) whole(E).     { A = reader->latest = OPTION(WITHIN, W.span, 0, E.id); }
reqclause(A) ::= DIGEST(W) texts(T).     { A = OPTION(DIGEST, W.span, 0, T.first); }
from_clauses(A) ::= CLAUSE(C).           { NodeId clause = NODE(CLAUSE, C.span, C.value, 0, 0, 0); A = LIST(clause); }
from_clauses(A) ::= from_clauses(A) COMMA CLAUSE(C). { list_add(reader, &A, NODE(CLAUSE, C.span, C.value, 0, 0, 0)); }

// concession C-1 "…" { covers LIFT-4, lift.voltage-warm  by "…"  because "…"  until "2027-03-31" }
item(A) ::= concession_head(A) opened conclauses(C) RBRACE.
                                         { Node *node = reader_node(reader, A); List title = LIST(node->c);
                                           node->c = list_join(reader, title, C).first; }
concession_head(A) ::= CONCESSION NAME(N) title(T). { A = reader->head = NODE(CONCESSION, N.span, NAME(N), 0, 0, T); }
conclauses(A) ::= .                      { A = EMPTY; }
conclauses(A) ::= conclauses(A) conclause(C). { list_add(reader, &A, C); }
conclause(A) ::= BROKEN(T).              { A = grow_broken(reader, T); }
conclause(A) ::= COVERS(W) covered(C).   { A = OPTION(COVERS, W.span, 0, C.first); }
conclause(A) ::= BY(W) texts(T).         { A = OPTION(BY, W.span, 0, T.first); }
conclause(A) ::= BECAUSE(W) texts(T).    { A = OPTION(BECAUSE, W.span, 0, T.first); }
conclause(A) ::= UNTIL(W) texts(T).      { A = OPTION(UNTIL, W.span, 0, T.first); }
covered(A) ::= path(P).                  { A = LIST(P.id); }
covered(A) ::= covered(A) COMMA path(P). { list_add(reader, &A, P.id); }

//// Texts, braces ////////////////////////////////////////////////////////////////////////////////////////////////////////

texts(A) ::= TEXT(T).                    { A = LIST(T.value); }
texts(A) ::= texts(A) TEXT(T).           { reader_node(reader, A.last)->a = T.value; A.last = T.value;
                                           if (A.first != A.last) SPAN(A.first).end = T.span.end; }
title(A) ::= .                           { A = 0; }
title(A) ::= texts(T).                   { A = grow_title(reader, T.first); }
text(A) ::= .                            { A = 0; }
text(A) ::= texts(T).                    { A = T.first; }

// Whose braces they are says reader->head. Closed when its rule is finished or given up.
opened(A) ::= LBRACE(B).                 { A = 0; block_open(reader, B); }
%destructor opened { block_close(reader); (void)$$; }

//// Expressions //////////////////////////////////////////////////////////////////////////////////////////////////////////

// A whole expression is read, or it is not.
whole(A) ::= expr(A).
whole(A) ::= BROKEN(T).                  { A = grow_leaf(NODE(BROKEN, T.span, 0, 0, 0, 0)); }

expr(A) ::= NUMBER(N).                   { A = grow_leaf(N.value); }
expr(A) ::= NUMBER(N) AROUND NUMBER(T).  { A = grow_leaf(grow_bounds(reader, BOUNDS_AROUND, N.value, T.value, 0)); }
expr(A) ::= NUMBER(N) SKEW(S).           { Node *bounds = reader_node(reader, S.value); bounds->a = N.value;
                                           bounds->span = span_join(N.span, S.span); A = grow_leaf(S.value); }
expr(A) ::= NUMBER(L) TO NUMBER(H).      { A = grow_leaf(grow_bounds(reader, BOUNDS_BETWEEN, L.value, H.value, 0)); }
expr(A) ::= NUMBER(L) TO NUMBER(H) NOMINAL NUMBER(N).
                                         { A = grow_leaf(grow_bounds(reader, BOUNDS_BETWEEN, L.value, H.value, N.value)); }
expr(A) ::= texts(T). [STRAY]                  { A = grow_leaf(T.first); }
expr(A) ::= YES(T).                      { A = grow_leaf(NODE(TRUTH, T.span, 0, 0, 0, 0)); reader_node(reader, A.id)->op = 1; }
expr(A) ::= NO(T).                       { A = grow_leaf(NODE(TRUTH, T.span, 0, 0, 0, 0)); }
expr(A) ::= path(A).
expr(A) ::= NAME(N) LPAREN arguments(L) RPAREN(E). { A = grow_call(reader, N, E, L.list, L.depth); }
expr(A) ::= LPAREN(L) expr(E) RPAREN(R). { A = grow_parentheses(reader, L, R, E); }

path(A) ::= NAME(N).                     { A = grow_leaf(NODE(NAME, N.span, NAME(N), 0, 0, 0)); }
path(A) ::= path(P) DOT NAME(N).         { A = grow_member(reader, P, N); }

arguments(A) ::= expr(E).                { A = (Expressions){LIST(E.id), E.depth}; }
arguments(A) ::= arguments(A) COMMA expr(E). { list_add(reader, &A.list, E.id); if (E.depth > A.depth) A.depth = E.depth; }

expr(A) ::= IF(W) expr(C) THEN expr(T) ELSE expr(E). { A = grow_if(reader, W, C, T, E); }
expr(A) ::= expr(L) OR(O) expr(R).       { A = grow_binary(reader, OPERATOR_OR, O, L, R); }
expr(A) ::= expr(L) AND(O) expr(R).      { A = grow_binary(reader, OPERATOR_AND, O, L, R); }
expr(A) ::= NOT(O) expr(E).              { A = grow_unary(reader, OPERATOR_NOT, O, E); }
expr(A) ::= expr(L) LESS(O) expr(R).     { A = grow_binary(reader, OPERATOR_LESS, O, L, R); }
expr(A) ::= expr(L) AT_MOST(O) expr(R).  { A = grow_binary(reader, OPERATOR_AT_MOST, O, L, R); }
expr(A) ::= expr(L) MORE(O) expr(R).     { A = grow_binary(reader, OPERATOR_MORE, O, L, R); }
expr(A) ::= expr(L) AT_LEAST(O) expr(R). { A = grow_binary(reader, OPERATOR_AT_LEAST, O, L, R); }
expr(A) ::= expr(L) EQUAL(O) expr(R).    { A = grow_binary(reader, OPERATOR_EQUAL, O, L, R); }
expr(A) ::= expr(L) UNEQUAL(O) expr(R).  { A = grow_binary(reader, OPERATOR_UNEQUAL, O, L, R); }
expr(A) ::= expr(L) IN(O) expr(R).       { A = grow_binary(reader, OPERATOR_IN, O, L, R); }
expr(A) ::= expr(L) PLUS(O) expr(R).     { A = grow_binary(reader, OPERATOR_PLUS, O, L, R); }
expr(A) ::= expr(L) MINUS(O) expr(R).    { A = grow_binary(reader, OPERATOR_MINUS, O, L, R); }
expr(A) ::= expr(L) TIMES(O) expr(R).    { A = grow_binary(reader, OPERATOR_TIMES, O, L, R); }
expr(A) ::= expr(L) OVER(O) expr(R).     { A = grow_binary(reader, OPERATOR_OVER, O, L, R); }
expr(A) ::= MINUS(O) expr(E). [NEGATE]   { A = grow_unary(reader, OPERATOR_NEGATE, O, E); }
expr(A) ::= expr(L) POWER(O) expr(R).    { A = grow_binary(reader, OPERATOR_POWER, O, L, R); }
expr(A) ::= expr(L) AT(O) expr(R).       { A = grow_binary(reader, OPERATOR_AT, O, L, R); }

//// What the driver asks ///////////////////////////////////////////////////////////////////////////////////////////////////

%code {
void parser_open(Reader *reader) {
    if (!reader->parser) reader->parser = arena_take_raw(reader->tree->arena, sizeof(yyParser));
    parserInit(reader->parser, reader);
}

/* The action for a token that is not taken for a name. */
static YYACTIONTYPE own_action(YYCODETYPE kind, YYACTIONTYPE state) {
    if (state > YY_MAX_SHIFT) return state;
    int i = yy_shift_ofst[state] + kind;
    return yy_lookahead[i] == kind ? yy_action[i] : yy_default[state];
}

/* Goes through the rules that would be finished before the token is taken, without finishing them: `over` holds the
 * states that would come to lie over the untouched part of the stack. `untouched`: only rules that take nothing off it. */
static bool is_taken(const Reader *reader, int kind, bool untouched) {
    const yyParser *stack = reader->parser;
    const yyStackEntry *top = stack->yytos;
    enum { ROOM = 64 };
    YYACTIONTYPE over[ROOM];
    int count = 0;
    for (;;) {
        YYACTIONTYPE state = count ? over[count - 1] : top->stateno;
        YYACTIONTYPE action = own_action((YYCODETYPE)kind, state);
        if (action < YY_MIN_REDUCE) return action <= YY_MAX_SHIFTREDUCE || action == YY_ACCEPT_ACTION;
        unsigned rule = action - YY_MIN_REDUCE;
        int pops = -yyRuleInfoNRhs[rule];
        for (; pops && count; pops--) count--;
        if (count == ROOM || (untouched && pops)) return false;
        top -= pops;
        state = count ? over[count - 1] : top->stateno;
        over[count++] = yy_find_reduce_action(state, yyRuleInfoLhs[rule]);
    }
}

bool parser_takes(const Reader *reader, int kind) { return is_taken(reader, kind, false); }
bool parser_awaits(const Reader *reader, int kind) { return is_taken(reader, kind, true); }

bool parser_is_name(int kind) { return kind == TOKEN_NAME || yyFallback[kind] == TOKEN_NAME; }

void parser_pop(Reader *reader) {
    yyParser *stack = reader->parser;
    if (stack->yytos > stack->yystack) yy_pop_parser_stack(stack);
}

bool parser_is_empty(const Reader *reader) {
    const yyParser *stack = reader->parser;
    return stack->yytos <= stack->yystack + 1;
}

bool parser_is_full(const Reader *reader) {
    const yyParser *stack = reader->parser;
    return stack->yystackEnd - stack->yytos < 40;
}

int parser_token_count(void) { return YYNTOKEN; }
}
