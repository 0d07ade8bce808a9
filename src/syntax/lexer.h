/* From bytes to tokens; the rules are in grammar/lexer.re.
 *
 * In:  the blocks of one file, in order, as if they were one text.
 * Out: tokens with global spans. A number comes with its unit, as a NUMBER node; a text as a TEXT node.
 * Surprising: the lexer never looks for the end of a block inside a token. It reads runs that end with a line end, and
 *             no token goes past one. A last line without line end is copied, with one added.
 * Slips of spelling are reported here; where the reading goes on as if written right, nothing else is said about them. */
#ifndef TRUNNION_SYNTAX_LEXER_H
#define TRUNNION_SYNTAX_LEXER_H

#include "parser.h"
#include "syntax/number.h"
#include "syntax/tree.h"

enum { TOKEN_END = 0 }; /* lemon's number for the end of the text */

typedef struct Token {
    Span span;
    uint32_t value; /* NAME, UNIT_TEXT, CLAUSE: Symbol. NUMBER, TEXT, SKEW: NodeId. Words: 0 */
} Token;

/* Traits of tokens, from grammar/tokens.def. */
enum { WORD = 1, RESERVED = 2, OPERAND = 4, ASKING = 8 };
unsigned token_traits(int kind);
const char *token_words(int kind);
/* The token whose trait is WORD or RESERVED and that is spelled like this, or 0. */
int token_of_word(Text word);

typedef struct Run {
    const char *at, *end; /* ends with '\n' */
    uint32_t position;    /* of `at` */
} Run;

/* A short memory of names and units, so that those that come again and again need no look at the big table. */
typedef struct Recent {
    uint64_t low, high; /* the bytes, when there are 1 … 16 */
    uint32_t length;    /* 0: empty */
    Symbol symbol;
} Recent;
enum { RECENT_BITS = 8, RECENT_ROOM = 1 << RECENT_BITS };

/* From file to file of one tree. */
struct LexerMemory {
    Recent names[RECENT_ROOM], units[RECENT_ROOM];
};

/* All that changes from token to token: a copy of it is a bookmark. */
typedef struct LexerState {
    const char *cursor;
    uint32_t run;      /* index of the run after the current one */
    uint32_t braces;   /* open ones */
    uint32_t parens;   /* open ones, in the innermost braces */
    int last;          /* kind of the last token */
    bool first;        /* the last token is the first on its line */
    bool fresh;        /* nothing of the current line has been read */
    bool unit_due;     /* a unit comes next */
    bool unit_list;    /* … and after a comma another */
    bool in_takes_unit; /* the next `in` is followed by a unit */
    bool member;       /* after given, maybe, let and before the colon */
} LexerState;

typedef struct Lexer {
    LexerState now;
    const char *limit; /* of the current run */
    const char *base;  /* of the current run, at base_position */
    uint32_t base_position;
    bool in_cycle;     /* set by the parser: among the segments of a cycle, `in` is a duration */
    bool quiet;        /* says nothing: while looking ahead */
    uint32_t slips;    /* reported so far */
    Run *runs;
    uint32_t run_count;
    uint32_t end; /* position of the end of the text */
    Text bytes;   /* of the file */
    uint32_t bytes_position;
    Tree *tree;
    Messages *messages;
    Arena *arena;
    struct LexerMemory *memory;
} Lexer;

void lexer_open(Lexer *lexer, Tree *tree, const Source *source, Messages *messages);
/* The next token's kind; TOKEN_END at the end, again and again. */
int lexer_next(Lexer *lexer, Token *token);
/* Back to an earlier state of this lexer. */
void lexer_return(Lexer *lexer, const LexerState *state);
/* To a position where a token begins or ends; nothing of what came before is known then but the braces. */
void lexer_go(Lexer *lexer, uint32_t position);
/* The bytes of a token. */
Text lexer_text(const Lexer *lexer, Span span);

/* ---- for lexer.re: the rare cases, in lexer.c ------------------------------------------------------------------------ */

bool lexer_next_run(Lexer *lexer);
Symbol lexer_name(Lexer *lexer, Text text);               /* ASCII */
int lexer_wide_name(Lexer *lexer, Span span, Token *token); /* with other letters: NAME or STRAY */
Symbol lexer_clause(Lexer *lexer, Text text);
Symbol lexer_unit(Lexer *lexer, Span span, Text text);

typedef enum Slip {
    SLIP_STRAY, SLIP_TEXT_OPEN, SLIP_TEXT_ESCAPE, SLIP_NAME_START, SLIP_CLAUSE, SLIP_LARGE, SLIP_SMALL, SLIP_COMMA,
    SLIP_POINT, SLIP_UNIT_SPACE, SLIP_OPERATOR_SPACE, SLIP_SIGN_SPACE, SLIP_SKEW_ORDER, SLIP_EQUAL_TWICE
} Slip;
/* Reports one; `part` is what stands wrong, `rest` what the advice needs. */
void lexer_slip(Lexer *lexer, Slip slip, Span span, Text part, Text rest);

#endif
