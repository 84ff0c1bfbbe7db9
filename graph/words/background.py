"""What callers say beside the matter: a sentence nearer to these than to any wording speaks of no symptom."""

from __future__ import annotations

BESIDE_THE_MATTER = (
    # greetings, waiting, the line
    "good morning, how are you", "hello, is anyone there", "wait a minute please", "one moment",
    "sorry, say that again",
    "the line is bad, I can't hear you", "you're breaking up", "thanks for your help", "goodbye",
    "never mind, forget it",
    "let me get a pen", "just checking", "what was your name again", "put me through to somebody else", "I'll hold",
    "is this the right number", "speak up please", "one two three four", "mumble mumble", "what did you say",
    # appointments and people
    "when is the engineer coming", "what time do you open", "are you open at the weekend", "he's late again",
    "can you come tomorrow afternoon", "the boss is on holiday", "she will be back after lunch", "call me later",
    "who is in charge here", "I've been waiting for an hour", "can I speak to a supervisor", "please ring me back",
    "where are you based", "what is your address", "we're closed on Monday", "nobody came last week",
    # money and paper
    "how much does it cost", "I want to complain about the bill", "send me a quote", "the invoice is wrong",
    "is it still under warranty", "I'd like to extend the contract", "can I pay by card", "we want our money back",
    "I want to order a new one", "do you have this in stock", "what's the part number", "where is my delivery",
    "the parcel never arrived", "cancel my order", "update my account", "I forgot my login",
    # other things that break
    "the toilet is blocked", "the sink tap drips", "the car has a flat tyre", "the van won't start",
    "the lift is broken",
    "the radio makes no sound", "the phone battery is empty", "the computer froze", "the printer is out of ink",
    "the internet is slow", "the screen of my phone is cracked", "the front door of the shop won't lock",
    "the window is broken", "the roof leaks when it rains", "the boiler in the house is cold",
    "the chair has a broken leg",
    "the coffee machine is out of beans", "the kettle has stopped working", "the till drawer is stuck",
    "the washing machine at home is noisy", "the television doesn't come on", "the street light is out",
    "the air conditioning blows warm", "the gate won't close", "the alarm clock didn't ring", "the lawn mower is noisy",
    "the swimming pool is green", "the bath overflowed", "the elevator stops between floors", "the dishwasher at home",
    # weather, food, news, small talk
    "it's raining outside", "it's freezing outside today", "what a hot summer", "the traffic was terrible",
    "did you see the match", "the food was lovely", "a table for four please", "two coffees and a cake",
    "the soup is too salty", "the customer sent the fish back", "happy birthday", "the cat sat on the mat",
    "my back hurts", "I have a cold", "the dog barked all night", "the song is stuck in my head", "once upon a time",
    "the quick brown fox", "the sky is blue", "we moved house", "I lost my wallet", "the train was cancelled",
    "the staff party is on Friday", "someone parked in front of the gate", "she plays the piano", "the paint is dry",
    "our website is down", "the music is too loud", "the meeting was moved", "the neighbours are complaining",
)
"""Invented, of all kinds: greetings, dates, money, other things that break, small talk."""
