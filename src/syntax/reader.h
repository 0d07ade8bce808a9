/* What the actions of grammar/parser.y, the driver (read.c) and its messages (complain.c) share while one file is read. */
#ifndef TRUNNION_SYNTAX_READER_H
#define TRUNNION_SYNTAX_READER_H

#include "syntax/lexer.h"

typedef struct List {
    NodeId first, last;
} List;

/* An expression and how deep it is: later stages walk it by recursion. */
typedef struct Expression {
    NodeId id;
    uint32_t depth;
} Expression;

/* Braces that are open: whose, and where. */
typedef struct Block {
    NodeId owner; /* FORM, FILLED, RULE, SEGMENT, TABLE … */
    uint32_t brace;
} Block;

typedef struct Seen {
    int kind;
    bool is_name; /* a word of the language that was taken for a name */
    Token token;
} Seen;

typedef struct Reader {
    Tree *tree;
    Source *source;
    Messages *messages;
    void *parser;
    bool packs;  /* see tree_packs */
    bool failed; /* set by the parser: it has no use for the token */
    NodeId head;   /* whose the next braces are */
    NodeId latest; /* the declaration that was finished last: when more comes on its line, it was not understood */
    NodeId items;  /* the result */
    NodeId form;   /* the NAME of the form of the card before, which its like may share; 0: none */
    VECTOR(Block) blocks;

    uint32_t errors; /* reported in this file, besides the lexer's slips */

    /* ---- of the driver ---- */
    Seen before, earlier;   /* the last tokens that the parser took */
    Seen line, above, item; /* the first token of the current line, of the one above, and of the current item */
    uint32_t line_slips, above_slips; /* the lexer's slips before this line, and before the one above */
    uint32_t item_errors;
    Lexer lexer;
} Reader;

/* ---- grammar/parser.y ---- */

void parser_open(Reader *reader); /* at the beginning of a file */
void parser(void *parser, int kind, Token token); /* written by lemon */
/* Would the parser take this token now, as itself? */
bool parser_takes(const Reader *reader, int kind);
/* The same, and without finishing anything that is on the stack. */
bool parser_awaits(const Reader *reader, int kind);
bool parser_is_name(int kind); /* can this token be a name where it is nothing else? */
/* Takes the last token off again, or what it has become. */
void parser_pop(Reader *reader);
bool parser_is_empty(const Reader *reader); /* between two items */
bool parser_is_full(const Reader *reader);  /* nesting has come close to the end of the stack */
int parser_token_count(void);

/* ---- for the actions, in grow.c ---- */

/* A list with one more; 0 is passed over. */
void list_add(Reader *reader, List *list, NodeId node);
List list_join(Reader *reader, List first, List second);
/* The same, for fields: those of a card with a plain number are packed. */
void grow_field(Reader *reader, List *fields, NodeId field);
/* The symbol of a NAME token, which can be a word of the language. */
Symbol grow_name(Reader *reader, Token token);
NodeId grow_node(Reader *reader, NodeKind kind, Span span, Symbol name, NodeId a, NodeId b, NodeId c);
NodeId grow_option(Reader *reader, OptionKind option, Span span, Symbol name, NodeId a);
NodeId grow_number(Reader *reader, Span span, double number, Symbol unit);
NodeId grow_title(Reader *reader, NodeId text); /* an OPTION, or 0 */
NodeId grow_bounds(Reader *reader, BoundsKind bounds, NodeId a, NodeId b, NodeId c);
/* The head of an item that is a filled-in form. */
NodeId grow_filled(Reader *reader, Token form, Token name, NodeId title);
/* Unread text. In braces it leaves no node, but marks their owner. */
NodeId grow_broken(Reader *reader, Token token);
NodeId grow_segment(Reader *reader, NodeId segment, SegmentKind kind);
Expression grow_leaf(NodeId node);
Expression grow_unary(Reader *reader, Operator operation, Token sign, Expression a);
Expression grow_binary(Reader *reader, Operator operation, Token sign, Expression a, Expression b);
Expression grow_if(Reader *reader, Token word, Expression condition, Expression then, Expression otherwise);
Expression grow_call(Reader *reader, Token name, Token end, List arguments, uint32_t depth);
Expression grow_member(Reader *reader, Expression object, Token name);
/* An open slot; its span is the whole value, so that it can be put in its place. */
Expression grow_any(Reader *reader, Token word, Token form, Expression condition);
Expression grow_parentheses(Reader *reader, Token open, Token close, Expression inner);
void block_open(Reader *reader, Token brace);
void block_close(Reader *reader);

/* ---- messages, in complain.c ---- */

/* The parser cannot take this token: says why, in terms of what would be right. */
void complain(Reader *reader, int kind, Token token, bool first); /* first: on its line */
void complain_value_missing(Reader *reader, Seen before);
void complain_brace_open(Reader *reader, const Block *block, int kind, Token here);
void complain_brace_missing(Reader *reader);
void complain_reserved(Reader *reader, int kind, Token token);
void complain_empty(Reader *reader);
void complain_many(Reader *reader, Span span);
void complain_name_start(Reader *reader, Token token);
void complain_misspelt(Reader *reader, Token token, int meant);
void complain_depth(Reader *reader, Span span);
/* The word of the language, among those that the parser would take now, that is spelled most like this; 0: none. */
int nearest_word(const Reader *reader, Text word);
/* The same, among those with which a declaration could have gone on. */
int nearest_going_on(const Reader *reader, Text word);
/* Could this be the beginning of what is in the braces of such an item: a word and the token after it? */
bool looks_inside(int item, Text word, int next);
/* The word that begins an item and is spelled most like this; 0: none. */
int nearest_item(Text word);

/* Between two declarations: what comes next begins one, or ends the braces. In read.c. */
bool reader_at_rest(const Reader *reader);

static inline Node *reader_node(const Reader *reader, NodeId id) { return tree_node(reader->tree, id); }

#endif
